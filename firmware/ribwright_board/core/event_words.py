"""What each event means, and its figures a and b; for computers, no board has the memory to spare."""

MEANINGS = {
    "press": "the start button was pressed at the rig",
    "proving": "the rig is being proved before heat",
    "proved": "every check passed; heat is allowed",
    "refused": "a check failed; the run does not start; a = fault number",
    "stage": "stage begins; a = stage counted from 1, b = target in tenths of a degree C",
    "arrived": "the zone reached its target; a = tenths of a degree C",
    "cue": "a cue waits for the maker; a = cue counted from 1",
    "cue_done": "the maker acknowledged the cue: the strip meets the form here; a = cue",
    "hold_warning": "four fifths of the longest time are gone; a = seconds left",
    "hold_longest": "the longest time is over; the run falls back to its set stage",
    "next": "the maker went on",
    "pause": "the run is paused, every relay off",
    "resume": "the run goes on after a press at the rig",
    "stop": "the run was stopped, every relay off",
    "done": "the run ended as its profile says",
    "trip": "shut down; a = fault number, b = reading in tenths of a degree C",
    "acknowledged": "the trip was acknowledged at the rig",
    "zone_off": "a zone is held off; a = fault number",
    "zone_back": "the zone's readings are good again",
    "branch_limited": "the zones wanted more than the branch allows; a = sum of duties kept, permille",
    "late": "the loop was late; a = ms",
    "log_lost": "the log could not be written on; the run goes on without it",
    "suspect": "something is doubtful, and power may be limited; a = fault number",
    "suspect_over": "the doubt is gone; a = fault number",
    "presence": "press any button to say that you are there; a = seconds left",
    "presence_given": "the maker is there",
    "interrupted": "a run was cut off by a reset or by the mains; a = its number, b = resets in it",
    "wood_hot": (
        "the middle of the wood is estimated hot enough; a = tenths of a degree C, b = stage counted from 1"
    ),
    "wood_late": (
        "the run goes on, the middle of the wood is not hot enough yet; a = tenths of a degree C, b = stage"
    ),
    "made_room": "the oldest run gave its room on the flash to the next one; a = its number",
    "nudge": "the stage's target was moved by hand; a = target now, tenths of a degree C, b = K moved",
    "no_display": "the display does not answer; the rig goes on without it, and tries it again at rest",
    "extend": "the stage may last longer; a = minutes more, b = seconds left of its longest time",
    "back_off": "the maker backed off to set or cool; a = stage left, b = stage that follows, counted from 1",
    "mark": ("the maker noted what the wood did; a = 1 gave_way, 2 stiff, 3 cracked, 4 steam, 5 steam_eased"),
}
