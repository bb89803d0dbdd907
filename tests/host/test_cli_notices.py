"""The commands when the rig has something to say: a run that was cut off, a question that waits."""

from host.commands import run


def test_run_that_a_reset_cut_off_is_said_before_the_next_one_is_laid_out(peer, port, profile):
    run("upload", profile, "--port", port)
    peer.controller.interrupted = 12
    ready = run("start", profile, "--port", port, "--yes")
    assert ready.exit_code == 0, ready.output
    assert "Run 12 was cut off by a reset or by the mains" in ready.stdout
    # Whoever begins another run has read it.
    again = run("start", profile, "--port", port, "--yes")
    assert "was cut off" not in again.stdout


def test_next_is_no_answer_to_the_question_whether_anybody_is_there(peer, port, profile):
    run("upload", profile, "--port", port)
    run("start", profile, "--port", port, "--yes")
    peer.controller.mode = "running"
    peer.controller.course.begin([150.0, 150.0])
    peer.controller.course.attend.asked = True
    refused = run("next", "--port", port)
    assert refused.exit_code == 7
    line = refused.stderr
    assert line.startswith("not_waiting: ")
    assert "press any button AT THE RIG" in line
    assert peer.controller.course.attend.asked
