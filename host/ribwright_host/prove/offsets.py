"""What boiling water has shown of each thermocouple and its converter, put into the rig file."""

import tomlkit

from ribwright_board.core.units import in_unit_difference
from ribwright_host.errors import UsageError
from ribwright_host.rigs import RigFile, get_document, put_document
from ribwright_host.writing import unwritable

from .record import Record

STEP = "boiling"
HEAD = "Found by `ribwright prove`: taken off each reading by a board flashed with this file."


def keep(rig: RigFile, record: Record) -> list[float]:
    """Write the offsets of the last passed boiling water into a rig file; them, per zone, K.

    rig: the file; all else of it stays as it stands. record: of this rig. Raises UsageError where the step
    was not passed or a simulated rig was asked, FileError where the file cannot be written.
    """
    if record.simulated:
        seen = "these steps were done with a simulated rig, whose thermocouples are not yours"
        raise UsageError(seen, f"prove the real one: ribwright prove {rig.path}", code="simulated")
    result = record.steps.get(STEP)
    if result is None or not record.passed(STEP) or len(result.offsets_k) != len(rig.zone_names):
        seen = "step boiling has not been passed, so no offset is known"
        raise UsageError(seen, f"do it: ribwright prove {rig.path} --from {STEP}", code="not_passed")
    document = get_document(rig.path)
    for zone, offset_k in zip(document["zones"], result.offsets_k, strict=True):
        table = tomlkit.table()
        table.add(tomlkit.comment(HEAD))
        table["reads_high_by"] = round(in_unit_difference(offset_k, str(rig.mapping["unit"])), 2)
        table["date"] = result.date[:10]
        table["found_by"] = result.fixed_point
        table.add(tomlkit.nl())
        zone["offset"] = table
    try:
        put_document(rig.path, document)
    except OSError as error:
        raise unwritable(rig.path, error, "check who may write to its folder") from error
    return list(result.offsets_k)
