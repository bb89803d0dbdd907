"""The rig and piece the plant's tests share, and the plainest ways to heat it."""

from ribwright_sim.plant import Plant

# 5 W/in2 is 0.775 W/cm2 (an industrial heater maker's "average heat-up").
RIG = {
    "unit": "C",
    "zones": [
        {"name": "waist", "power_w": 105.0, "length_mm": 150, "width_mm": 90},
        {"name": "full", "power_w": 420.0, "length_mm": 600, "width_mm": 90},
    ],
    "stack": {"slat": "spring steel", "slat_mm": 0.25, "blanket_mm": 1.4, "foil_mm": 0.02},
}
PIECE = {"species": "sapele", "thickness_mm": 1.7, "width_mm": 85, "length_mm": 560, "wetted": "misted"}


def switched(plant, seconds, target_c, press_at_s=None, dt_s=0.5):
    """On below the target, off above it: the plainest use of the relays."""
    for step in range(round(seconds / dt_s)):
        if press_at_s is not None and step == round(press_at_s / dt_s):
            plant.press_on_form(0)
            plant.press_on_form(1)
        plant.advance(dt_s, [plant.thermocouple_c(zone) < target_c for zone in (0, 1)])


def heated(seconds=240, refresh_s=1.0, piece=PIECE, **kwargs):
    plant = Plant.from_rig(RIG, piece, refresh_s=refresh_s, **kwargs)
    plant.advance(float(seconds), [True, True])
    return plant
