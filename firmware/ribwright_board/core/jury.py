"""All zones' judges at work: each second's readings, and the heat a zone and its neighbours had."""

from .errors import FAULTS
from .expect import Expectation
from .judge import Judge

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .guard import Guard
    from .profile_values import Profile
    from .rig_values import Rig


# At high mains, and a thin load over it, a neighbour may do this much more than the balance says.
NEAR_SHARE = 1.3


# Readings with so much noise of late are no ground to judge heat by.
UNSURE_MS = 300
# Of a single step fewer readings are thrown away.
STEP_MS = 550
# A proof's verdicts that compare readings with heat.
ON_HEAT = ("heat_while_off", "fast_rise", "no_rise", "weak_rise", "swapped", "contactor_closed")


class Jury:
    """Judges of one rig.

    rig: checked. guard: whose trip they reach.

    expects: per zone its energy balance. means_c: per zone the mean of the last second, C, or None.
    events: list of (name, zone, a, b, text), emptied by the caller.
    """

    def __init__(self, rig: "Rig", guard: "Guard") -> None:
        self.rig = rig
        self.guard = guard
        self.expects: list[Expectation] = []
        self.judges: list[Judge] = []
        self.events: list[tuple[str, int, int, int, str]] = []
        count = len(rig.zones)
        self.means_c: list[float | None] = [None] * count
        self._sums_c = [0.0] * count
        self._samples = [0] * count
        self._told = [""] * count
        self._rises_k = [0.0] * count
        self._targets_c: list[float | None] = [None] * count
        self._shares = [0.0] * count
        self._dt_ms = 0
        self.load(None)

    def load(self, profile: "Profile | None") -> None:
        """Expect another load from now on.

        profile: declares it; None counts as empty slats.
        """
        zones = range(len(self.rig.zones))
        self.expects = [Expectation(self.rig, zone, profile) for zone in zones]
        if not self.judges:
            self.judges = [Judge(expect) for expect in self.expects]
            self.guard.judges = self.judges
            return
        for zone in zones:
            self.judges[zone].load(self.expects[zone])

    def learn(self, ratios: list[float], colds_c: list[float]) -> None:
        """Take over what a proof has shown.

        ratios: per zone measured over expected answer. colds_c: per zone the room, C.
        """
        for zone in range(len(ratios)):
            self.expects[zone].learn(ratios[zone], colds_c[zone])

    def meet_form(self, zones: list[int]) -> None:
        """The strip meets the form in these zones; positions."""
        for zone in zones:
            self.judges[zone].meet_form()

    def still_ms(self) -> list[int]:
        """Per zone how long its bits have not changed."""
        return [judge.still_ms() for judge in self.judges]

    def named(self, code: str, zone: int) -> str:
        """A proof's verdict, or what it really is where it rests on noise.

        code: the verdict. zone: whom it is about, -1 for the rig.
        """
        if zone < 0 or (code != "leap" and code not in ON_HEAT):
            return code
        return "noisy" if self.guard.noise_ms(zone) >= (STEP_MS if code == "leap" else UNSURE_MS) else code

    def take(self, zone: int, temperature_c: float) -> None:
        """One admitted reading, C, of a zone."""
        self._sums_c[zone] += temperature_c
        self._samples[zone] += 1

    def second(
        self,
        targets_c: list[float | None] | None,
        shares: list[float],
        powered: bool,
        now_ms: int,
        dt_ms: int,
    ) -> None:
        """Judge the second that ends now.

        targets_c: per zone, C or None; None as a whole while no profile drives. shares: per zone of full
        power, while its relay was on. powered: the contactor was held closed. now_ms: present time.
        dt_ms: its length.
        """
        self.begin(targets_c, shares, powered, dt_ms)
        for zone in range(len(self.judges)):
            self.judge(zone, now_ms)

    def begin(
        self, targets_c: list[float | None] | None, shares: list[float], powered: bool, dt_ms: int
    ) -> None:
        """Close a second's readings; every zone is judged by them afterwards.

        targets_c, shares, powered, dt_ms: as second().
        """
        judges = self.judges
        # What a neighbour warms lies behind more layers: the whole load's rate counts, not the nearest one's.
        for zone in range(len(judges)):
            share = max(shares[zone], judges[zone].lagged_share())
            self._rises_k[zone] = share * self.expects[zone].rate_k_per_s * dt_ms / 1000.0
            samples = self._samples[zone]
            # A second of noise has no mean worth judging; the noise has a rule of its own.
            sure = samples and self.guard.noise_ms(zone) < UNSURE_MS
            self.means_c[zone] = self._sums_c[zone] / samples if sure else None
            self._sums_c[zone] = 0.0
            self._samples[zone] = 0
            self._targets_c[zone] = None if targets_c is None else targets_c[zone]
            self._shares[zone] = shares[zone]
            judges[zone].powered = powered
        self._dt_ms = dt_ms

    def judge(self, zone: int, now_ms: int) -> None:
        """Judge one zone by the second that was closed last.

        zone: position. now_ms: present time.
        """
        guard, judge = self.guard, self.judges[zone]
        if self.rig.watches:
            # Heat that comes from elsewhere is nobody's to judge; bits that stand still are.
            if judge.frozen():
                guard.shut("frozen", zone, judge.seen, judge.limit, judge.unit, now_ms)
            return
        # Blankets may lie over one another: every neighbour's heat may show here as well.
        near_k = NEAR_SHARE * (sum(self._rises_k) - self._rises_k[zone])
        share, target_c = self._shares[zone], self._targets_c[zone]
        code = judge.second(self.means_c[zone], share, near_k, target_c, guard.ceiling_c(zone), self._dt_ms)
        if code:
            guard.shut(code, zone, judge.seen, judge.limit, judge.unit, now_ms)
        self._tell(zone, judge)

    def _tell(self, zone: int, judge: Judge) -> None:
        told = self._told[zone]
        if judge.suspect == told:
            return
        if told:
            self.events.append(("suspect_over", zone, FAULTS[told][0], 0, told))
        if judge.suspect:
            self.events.append(("suspect", zone, FAULTS[judge.suspect][0], 0, judge.suspect))
        self._told[zone] = judge.suspect
