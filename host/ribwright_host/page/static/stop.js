// STOP: one touch, asked until it is confirmed. What is not confirmed stays loud until the board shows how it ended.

// A confirmation that takes longer than this is said to be missing.
const UNSURE_MS = 1200;
const AGAIN_MS = 600;
const FOR_MS = 10000;
const UNSURE = "STOP IS NOT CONFIRMED. Press stop AT THE RIG.";
// Modes in which no run is on; a pause is none, since a press of start goes on with it.
const OVER = ["idle", "tripped"];

export class Stop {
  // ask: posts one stop. say: takes a line and its state. changed: called when `words` may be others.
  constructor(ask, say, changed) {
    this.ask = ask;
    this.say = say;
    this.changed = changed;
    this.words = "";
    this.touch = null;
  }

  // run: number of the run that was on the screen, null for none known.
  async press(run) {
    const touch = { at: performance.now(), run, over: false };
    this.touch = touch;
    this.say("STOP: asked, not confirmed yet.", "asked");
    const unsure = setTimeout(() => this.shout(touch, UNSURE), UNSURE_MS);
    let told = null;
    while (!told && !touch.over && performance.now() - touch.at < FOR_MS) {
      try {
        told = await this.ask();
      } catch (error) {
        await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
      }
    }
    clearTimeout(unsure);
    if (told && told.ok) {
      touch.over = true;
      if (touch === this.touch) this.words = "";
      this.say(told.told, "confirmed");
    } else if (touch === this.touch && !touch.over) {
      this.shout(touch, told ? `${UNSURE} ${told.told}` : UNSURE);
      this.say("STOP: not confirmed.", "lost");
    }
    this.changed();
  }

  shout(touch, words) {
    if (touch !== this.touch || touch.over) return;
    this.words = words;
    this.changed();
  }

  // now: a fresh moment. at: when its row came, in ms of this page's clock; only what came after the touch counts.
  look(now, at) {
    const touch = this.touch;
    if (!this.words || touch.over || at <= touch.at) return;
    if (OVER.includes(now.mode)) this.end(`STOP was not confirmed, but no run is on any more. The board says: ${now.mode_words}.`, "confirmed");
    else if (touch.run !== null && now.run !== touch.run) this.end(`STOP was not confirmed. Run ${touch.run} is over all the same: the board is at run ${now.run} now, from a later start. Touch STOP again to end that one.`, "lost");
  }

  end(words, state) {
    this.touch.over = true;
    this.words = "";
    this.say(words, state);
  }
}
