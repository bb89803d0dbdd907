"""A ramp that heats for the wood: its keys, and where each zone may stand while the wood's face takes it.

While heat flows into the wood its face lags the thermocouple, so the thermocouple may stand above what the
face may come to, and the middle of the wood is there sooner; as the flow fades it comes down by itself. How
far above is an estimate, so two limits hold whatever it says: never below the stage's own target, never more
than RISE_K above it nor above what the ceilings of its zones allow.
"""

from .ends import read_mid_wood
from .units import TARGET_MAX_C, TARGET_MIN_C, c_from, in_unit, number_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .checks import Table
    from .profile_values import Stage
    from .shapes import Callable

HEAT_FOR = ("wood",)
KEYS = ("mid_wood", "wood_face")
# PROPOSAL: the most an estimate may add to a target. The example rig's bouts used 27 K of it.
RISE_K = 30.0
# Estimated there for so long, it is no single reading's work.
REACHED_MS = 3000
# The estimate is a second's, and so is the target that follows it.
SECOND_MS = 1000
# So far below its limit the face needs all the heat there is: the highest target stands still meanwhile, so
# that the law learns from one rise.
LEAD_K = 10.0
# Up, a target moves slower than what counts as a deliberate change (core.judge.AIM_K); down, at once.
CLIMB_K = 4.0


def read_wood_ramp(table: "Table", stage: "Stage", highest_c: float) -> None:
    """Keys of a ramp that heats for the wood.

    table: the stage's. stage: gets what is found; its target, rate and longest time have been read.
    highest_c: highest target that all its zones allow, C.
    """
    if table.choice("heat_for", HEAT_FOR, False) is None:
        for key in KEYS:
            if table.has(key):
                table.take(key)
                text = 'belongs to a ramp with heat_for = "wood"; state that, or remove it'
                table.add("not_by_wood", table.where + (key,), text)
        return
    if table.has("rate_per_min"):
        text = "belongs to a ramp that heats for its thermocouple; remove it, or heat_for"
        table.add("two_paces", table.where + ("rate_per_min",), text)
    if not table.has("longest_min"):
        text = "waits for the wood and could go on for long; add longest_min = a number of minutes"
        table.add("endless", table.where + ("longest_min",), text)
    read_mid_wood(table, stage)
    stage.mid_wood_ms = REACHED_MS
    _read_face(table, stage, highest_c)
    if stage.target_c is not None:
        stage.most_c = max(stage.target_c, min(stage.target_c + RISE_K, highest_c))


def _read_face(table: "Table", stage: "Stage", highest_c: float) -> None:
    """What the wood's hottest face may come to."""
    value = table.temperature(
        "wood_face", TARGET_MIN_C, TARGET_MAX_C, True, "scorched wood is spoilt, lower it"
    )
    target_c = stage.target_c
    if value is None or target_c is None:
        return
    face_c = c_from(value, table.unit)
    # A hair wider, so that a limit stated in Fahrenheit survives its way through Celsius.
    if face_c < target_c - 0.01:
        # Beside a thermocouple at its target the face comes to that, however slowly.
        limit_c, text = target_c, "the least is the target, %s %s, where the face ends anyhow; raise it"
    elif face_c > highest_c + 0.01:
        limit_c, text = highest_c, "these zones allow up to %s %s (the lowest ceiling less 10 K); lower it"
    else:
        stage.wood_face_c = face_c
        return
    limit = (number_text(in_unit(limit_c, table.unit)), table.unit)
    table.add("range", table.where + ("wood_face",), "is %s, " % number_text(value) + text % limit)


class WoodAim:
    """Targets of a ramp that heats for the wood, second by second.

    zones: number of zones of the rig.

    beside_c: tells for a zone and a temperature of the wood's face, C, where the thermocouple may stand, C,
    or None without an estimate; set from outside.
    """

    def __init__(self, zones: int) -> None:
        self.beside_c: Callable[[int, float], float | None] = _unknown
        self._last_c: list[float | None] = [None] * zones
        self._since_ms = 0

    def begin(self) -> None:
        """A stage begins: its first step sets its targets."""
        self._since_ms = SECOND_MS
        for zone in range(len(self._last_c)):
            self._last_c[zone] = None

    def step(
        self, stage: "Stage", temps_c: list[float | None], targets_c: list[float | None], dt_ms: int
    ) -> None:
        """Set the targets of the stage's zones once a second.

        stage: heats for the wood. temps_c: per zone the present temperature, C, or None. targets_c: per zone,
        C; those of the stage's zones are set. dt_ms: time since the last step.
        """
        target_c, most_c, face_c = stage.target_c, stage.most_c, stage.wood_face_c
        self._since_ms += dt_ms
        if self._since_ms < SECOND_MS or target_c is None or most_c is None or face_c is None:
            return
        self._since_ms = 0
        for zone in stage.zones:
            last_c, beside_c, measured_c = self._last_c[zone], self.beside_c(zone, face_c), temps_c[zone]
            if beside_c is None:
                wanted_c = target_c
            elif measured_c is None:
                # No reading in just this tick tells nothing new.
                wanted_c = target_c if last_c is None else last_c
            elif beside_c - measured_c > LEAD_K:
                wanted_c = most_c
            else:
                wanted_c = max(target_c, min(beside_c, most_c))
            if last_c is not None:
                wanted_c = min(wanted_c, last_c + CLIMB_K)
            self._last_c[zone] = wanted_c
            targets_c[zone] = wanted_c


def _unknown(_zone: int, _face_c: float) -> float | None:
    """There is no estimate."""
    return None
