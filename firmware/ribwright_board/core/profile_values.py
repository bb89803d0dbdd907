"""A bend as the maker wrote it, checked and in the firmware's units. core.profile reads it."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Values


class Stage:
    """One checked stage, in the firmware's units.

    kind: ramp, hold, set or cool. name: the maker's word. zones: positions of the zones it heats.
    target_c: wanted temperature (None for cool). rate_k_per_min: None is as fast as the blanket can.
    band_k: how near counts as there. hold_ms: time within the band, None when the maker or the wood ends it.
    mid_wood_c, mid_wood_ms: what the middle of the wood must be above, and for how long, to end it; None when
    it ends otherwise. wood_face_c, most_c: of a ramp that heats for the wood, what the wood's hottest face
    may come to, and the highest target it may ask of a zone; None for others. longest_ms: longest time of the
    stage. below_c: where a cool stage ends. cues: the maker's words.
    """

    def __init__(self, kind: str, name: str) -> None:
        self.kind = kind
        self.name = name
        self.zones: list[int] = []
        self.target_c: float | None = None
        self.rate_k_per_min: float | None = None
        self.band_k = 0.0
        self.hold_ms: int | None = None
        self.mid_wood_c: float | None = None
        self.mid_wood_ms: int | None = None
        self.wood_face_c: float | None = None
        self.most_c: float | None = None
        self.longest_ms: int | None = None
        self.below_c: float | None = None
        self.cues: list[str] = []


class Profile:
    """A checked profile.

    name, unit: as stated. piece: mapping of the piece's declared facts. stages: list of Stage.
    zone_names: names the stages' zone positions speak of. hottest_c: the highest target it may come to ask,
    C, None when nothing is heated.
    """

    def __init__(
        self, name: str, unit: str, piece: "Values", stages: list[Stage], zone_names: list[str]
    ) -> None:
        self.name = name
        self.unit = unit
        self.piece = piece
        self.stages = stages
        self.zone_names = zone_names
        targets_c = [stage.target_c for stage in stages if stage.target_c is not None]
        targets_c += [stage.most_c for stage in stages if stage.most_c is not None]
        self.hottest_c = max(targets_c) if targets_c else None
