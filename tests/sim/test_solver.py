"""The fast solver: compiled and plain, against the plant, balances, order, bad input."""

from dataclasses import replace

import numpy as np
import pytest

from ribwright_sim import compiled, steps
from ribwright_sim import reference as ref
from ribwright_sim.laws import BENCH
from ribwright_sim.layout import stack_for
from ribwright_sim.materials import StackError
from ribwright_sim.measure import ours
from ribwright_sim.plant import Plant
from ribwright_sim.solver import PID, ZONE, Scheme, Solver
from sim.example_rig import PIECE, RIG

needs_numba = pytest.mark.skipif(not compiled.HAVE_NUMBA, reason="numba, the optional compiler, is missing")

GAINS = {name: value for name, value in ref.gains().items() if name != "window_s"}
SLOW = dict.fromkeys(ref.gains(), 0.0)


def ramp_and_hold(windows, target_c=150.0, off=60):
    targets = np.full((windows, 2), target_c)
    targets[-off:] = np.nan
    return targets


@needs_numba
def test_compiled_runs_agree_with_plain_ones_on_the_reference_problem():
    stacks = ours.plants(3, ref.COARSE_CELLS, 5)
    targets = ref.targets_c()[:700]
    runs = [
        Solver(some, laws=ref.LAWS, control=PID, scheme=ours.SCHEME, use_numba=numba).run(
            [[GAINS]] * len(some), targets, trace=True
        )
        for some in (stacks, stacks[:1])
        for numba in (True, False)
    ]
    assert runs[0].trace_c == pytest.approx(runs[1].trace_c, abs=1e-9)
    assert runs[2].trace_c == pytest.approx(runs[3].trace_c, abs=1e-9)
    # One lane and many are different code as well.
    assert runs[0].trace_c[:, :, :1] == pytest.approx(runs[2].trace_c, abs=1e-9)
    assert runs[0].bound_percent == pytest.approx(runs[1].bound_percent, abs=1e-9)


@needs_numba
def test_compiled_runs_agree_with_plain_ones_with_every_effect_and_the_boards_law():
    stacks = [stack_for(RIG, PIECE, seed=seed) for seed in (0, 1, 2)]
    gains = [[ours.ZONE_GAINS] * 2] * 3
    met_s = np.array([np.inf, 150.0, 200.0])
    fast, plain = (
        Solver(stacks, control=ZONE, use_numba=numba).run(
            gains, ramp_and_hold(400), trace=True, met_form_s=met_s
        )
        for numba in (True, False)
    )
    for name in ("trace_c", "cell_c", "bound_percent", "free_percent", "square_sum_k2", "outside_s"):
        assert getattr(fast, name) == pytest.approx(getattr(plain, name), abs=1e-8), name


@pytest.fixture(scope="module")
def beside_the_plant():
    """The example rig bent at 200 s, by the solver and by the plant, under the same law."""
    stack = stack_for(RIG, PIECE)
    targets = ramp_and_hold(420)
    run = Solver([stack], control=PID, use_numba=False).run(
        [[GAINS] * 2], targets, trace=True, met_form_s=np.full(3, 200.0)
    )
    plant = Plant(stack)
    filtered, integral = [stack.ambient_c] * 2, [0.0, 0.0]
    trace = [[plant.thermocouple_c(zone) for zone in (0, 1)]]
    for window, targets_c in enumerate(targets):
        if window == 200:
            plant.press_on_form(0)
            plant.press_on_form(1)
        duty = [0.0, 0.0]
        for zone in (0, 1):
            if np.isnan(targets_c[zone]):
                continue
            moved = GAINS["filter_share"] * (trace[-1][zone] - filtered[zone])
            filtered[zone] += moved
            error = targets_c[zone] - trace[-1][zone]
            raw = GAINS["kp"] * error + integral[zone] - GAINS["kd"] * moved
            duty[zone] = min(max(raw, 0.0), 1.0)
            integral[zone] += GAINS["ki"] * error + GAINS["unwind_share"] * (duty[zone] - raw)
        now_s = 0.0
        for edge_s in sorted({*duty, 1.0}):
            if edge_s > now_s:
                plant.advance(edge_s - now_s, [share > now_s for share in duty])
                now_s = edge_s
        trace.append([plant.thermocouple_c(zone) for zone in (0, 1)])
    return run, plant, np.array(trace)


def test_solver_and_plant_agree_on_temperatures(beside_the_plant):
    run, _, trace = beside_the_plant
    assert np.abs(run.trace_c[:, :, 0] - trace).max() <= 0.05


def test_solver_and_plant_agree_on_water(beside_the_plant):
    run, plant, _ = beside_the_plant
    columns = run.bound_percent.reshape(3, -1)[:, plant.stack.wood]
    assert columns.mean(axis=1) == pytest.approx(plant.sample().moisture_percent, abs=0.05)
    assert (run.bound_percent >= 0.0).all()


def test_heat_put_into_a_wrapped_stack_stays_there():
    # No way out and no water leaving: content from the property equations equals what was put in.
    laws = ref.LAWS._replace(
        face_flux_w_m2=lambda surface_c, *_: 0.0 * surface_c,
        drying_rates_percent_s=lambda at_c, *_: (0.0 * at_c, 0.0 * at_c),
    )
    stack = ref.stack()
    # Gain and set-point of a law that is always far below its target: full power for 100 s.
    full = GAINS | {"kp": 1.0, "ki": 0.0, "kd": 0.0}
    residuals = []
    for refresh_s in (4, 2):
        scheme = Scheme(step_s=0.5, refresh_steps=2 * refresh_s, stiff=False)
        solver = Solver([stack], laws=laws, control=PID, scheme=scheme, use_numba=False)
        run = solver.run([[full]], np.full((100, 1), 1e4))
        at_c, start_c = run.cell_c[:, 0], ref.ROOM_C
        stored = stack.capacity_j_m2_k[0] * (at_c - start_c)
        wood = stack.wood
        a, b = ref.heat_terms_j_kg_k(stack.bound_percent[0], stack.free_percent[0])
        kelvin = at_c[wood] + 273.15
        rise = a * (at_c[wood] - start_c) + 0.5 * b * (kelvin**2 - (start_c + 273.15) ** 2)
        stored[wood] = stack.dry_kg_m2[0] * rise
        residuals.append(abs(stored.sum() / (100.0 * ref.HEATER_W_M2) - 1.0))
    assert residuals[0] <= 1e-3
    assert residuals[1] <= residuals[0] / 3.0


def test_order_in_time_is_two():
    # Open loop at full power, no relay edge: nothing but the scheme and its held coefficients.
    held = SLOW | {"kp": 1e-6}
    targets = np.full((120, 1), 1e6)
    ends = [
        Solver(
            [ref.stack()],
            laws=ref.LAWS,
            control=PID,
            scheme=Scheme(step_s, 1, stiff=False),
            use_numba=False,
        )
        .run([[held]], targets, trace=True)
        .trace_c[30:, 0, 0]
        for step_s in (1.0, 0.5, 0.0625)
    ]
    coarse, fine = (np.abs(ends[k] - ends[2]).max() for k in (0, 1))
    assert 3.5 <= coarse / fine <= 4.6


@pytest.mark.parametrize("duty", [0.2, 0.5, 0.8])
def test_place_of_the_relays_pulse_in_a_step_is_seen(duty):
    # The mean of the pulse alone is 0.15 K off, whatever the step's scheme (prototype of the speed study).
    held = SLOW | {"kp": duty * 1e-6}
    coarse, fine = (
        Solver(
            [ref.stack()],
            laws=ref.LAWS,
            control=PID,
            scheme=Scheme(step_s, 1, stiff=False),
            use_numba=False,
        ).run([[held]], np.full((120, 1), 1e6), trace=True)
        for step_s in (1.0, 0.05)
    )
    assert np.abs(coarse.trace_c - fine.trace_c).max() <= 0.05


def test_lanes_do_not_touch_each_other():
    stacks = ours.plants(3, ref.COARSE_CELLS, 9)
    solver = Solver(stacks, laws=ref.LAWS, control=PID, scheme=ours.SCHEME, use_numba=False)
    weak = GAINS | {"kp": 0.01}
    targets = ref.targets_c()[:120]
    mixed = solver.run([[GAINS], [weak], [GAINS]], targets, lanes=[2, 0, 0], trace=True)
    alone = solver.run([[GAINS]], targets, lanes=[2], trace=True)
    assert mixed.trace_c[:, :, :1] == pytest.approx(alone.trace_c, abs=1e-9)
    assert np.abs(mixed.trace_c[-1, 0, 1] - mixed.trace_c[-1, 0, 2]) > 0.1


@pytest.mark.parametrize("seed", range(1, 7))
def test_drawn_stacks_stay_within_their_sources(seed):
    stack = stack_for(RIG, PIECE | {"thickness_mm": 1.0 + 0.3 * seed, "wetted": "soaked"}, seed=seed)
    run = Solver([stack], use_numba=False).run([[ours.ZONE_GAINS] * 2], ramp_and_hold(150))
    assert (run.bound_percent >= 0.0).all()
    assert (run.free_percent >= 0.0).all()
    assert (run.bound_percent <= stack.bound_percent.max() + 1e-9).all()
    assert run.cell_c.min() >= stack.ambient_c - 1e-6
    assert np.isfinite(run.cell_c).all()


@pytest.mark.parametrize(
    ("wrong", "what"),
    [
        (lambda: Solver([]), "stacks"),
        (lambda: Solver([ref.stack()], scheme=Scheme(step_s=0.3)), r"scheme\.step_s is 0\.3"),
        (lambda: Solver([ref.stack(), ref.stack(ref.EVEN_48_CELLS)]), "of several shapes"),
        (
            lambda: Solver([ref.stack()], laws=ref.LAWS, control=PID).run([], ref.targets_c()),
            "gains is 0, must be 1",
        ),
    ],
    ids=["no stack", "uneven step", "two shapes", "no gains"],
)
def test_bad_input_is_named(wrong, what):
    with pytest.raises(StackError, match=what):
        wrong()


def test_a_cell_heated_twice_is_named():
    stack = stack_for(RIG, PIECE)
    doubled = replace(stack, heater_share=np.stack([stack.heater_share[1]] * 2))
    with pytest.raises(StackError, match="heater_share"):
        Solver([doubled])


def test_name_of_compiled_code_follows_every_constant(monkeypatch):
    def name():
        swaps = BENCH._asdict() | {"control": PID.law}
        return compiled._digest(compiled._plain_functions(steps.run, swaps), swaps, "")

    before = name()
    assert name() == before
    monkeypatch.setattr("ribwright_sim.effects.ATMOSPHERE_PA", 90000.0)
    assert name() != before
