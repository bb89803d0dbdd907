// The page: shows what the stream tells, never a figure older than it says, and asks one thing at a time.
import { Chart } from "./chart.js";
import { Stop } from "./stop.js";
import { Strip } from "./strip.js";

const DASHES = "\u2013\u2013";
// A page that has just come is not told that anything is wrong.
const FIRST_MS = 6000;
const begunAt = performance.now();
const TWICE_MS = 900;
const CHART_MS = 1000;
const TICK_MS = 250;
const LATE_TICKS = 20;
const at = (id) => document.getElementById(id);

let course = null;
let now = null;
let points = [];
let heardAt = -Infinity;
// This clock less the server's, at its least: a message that waited on its way is found to be old. Clocks drift,
// so the least is let go of slowly.
let offset = Infinity;
const DRIFT = 2e-4;
let source = null;
let lateTicks = 0;
let chosen = null;
let drawnAt = 0;
let saidShown = -1;
let due = false;

function put(id, text) {
  const element = at(id);
  if (element.textContent !== text) element.textContent = text;
}

// How old the shown figures are, in seconds; endless when nothing has come.
function age() {
  if (!now || now.row_at === null || !Number.isFinite(offset)) return Infinity;
  return (performance.now() / 1000 - offset) - now.row_at;
}

function silent() {
  return performance.now() - heardAt > 1000 * (course ? course.stale_s : 3);
}

function fresh() {
  return Boolean(now && course && now.linked && !silent() && age() <= course.stale_s);
}

// Before anything was told, there is nothing to be lost.
function waiting() {
  return (!now || now.row_at === null) && performance.now() - begunAt < FIRST_MS;
}

// Drawing ----------------------------------------------------------------------------------------

function loudness() {
  if (stopping.words) return stopping.words;
  if (waiting()) return "";
  if (silent()) return "NO ANSWER from the computer that serves this page. The rig goes on by itself: look at it, stop it THERE.";
  if (now && !now.linked) return `NO LINK to the board. The rig goes on by itself: look at it, stop it THERE. ${now.lost}`;
  if (now && now.row_at === null) return "The board has told nothing yet. If it heats, it goes on by itself: look at it, stop it THERE.";
  if (now && !fresh()) return "The board has gone silent. The rig goes on by itself: look at it, stop it THERE.";
  return "";
}

function fit() {
  // A narrow screen squeezes the digits rather than making them lower.
  const digits = at("mid");
  const room = at("figure").clientWidth - at("beside").offsetWidth - 10;
  const wide = digits.offsetWidth;
  digits.style.transform = wide > room && room > 0 ? `scaleX(${room / wide})` : "";
  digits.style.marginRight = wide > room && room > 0 ? `${room - wide}px` : "";
}

function drawWood(ok) {
  const part = now && now.parts[now.work];
  const mid = ok && part ? part.mid : null;
  const named = part ? now.parts.filter((one) => one.zone === part.zone).map((one) => one.name) : ["Wood"];
  put("work-name", named.length === 3 ? "whole strip" : named.join(" and "));
  const text = mid === null || mid === undefined ? DASHES : String(mid);
  if (at("mid").textContent !== text) {
    put("mid", text);
    fit();
  }
  put("unit", `\u00b0${course ? course.unit : "C"}`);
  put("band", mid === null || mid === undefined ? "" : `\u00b1${part.band}`);
  const held = at("held");
  if (!ok) {
    const old = part && part.mid !== null ? part.mid : null;
    const seconds = Math.round(age());
    held.textContent = "";
    if (old !== null && Number.isFinite(seconds)) {
      const struck = document.createElement("s");
      struck.textContent = `${old}\u00b0`;
      held.append("was ", struck, ` ${seconds} s ago`);
    } else held.textContent = waiting() ? "" : "not known";
    put("measured", "");
    return;
  }
  if (!part) return;
  const stays = part.held === null ? "" : `within \u00b1${part.band} for ${part.held}`;
  const most = part.most === null ? "" : `, at most ${part.most}\u00b0`;
  put("held", part.mid === null ? "no estimate of the wood now" : stays + most);
  const target = part.target === null ? "no target" : `target ${part.target}\u00b0`;
  put("measured", `measured ${part.measured === null ? "no reading" : `${part.measured}\u00b0`}, ${target}, heat ${part.duty} %`);
}

function drawNow(ok) {
  const heat = at("heat");
  heat.className = ok ? now.heat : "unknown";
  put("heat", ok ? now.heat_words : "Heat not known");
  put("stage-title", !ok ? (waiting() ? "Waiting for the first message" : "Not known") : now.stage.title || now.mode_words);
  put("count", ok ? (now.stage.count ? `${now.stage.count}; ${now.mode_words}` : "") : "");
  put("wish", ok ? now.wish : "");
  at("wish").classList.toggle("alarm", Boolean(ok && now.alarm));
  document.body.classList.toggle("alarmed", Boolean(ok && now.alarm));
  put("left-time", ok ? now.stage.left || "" : "");
  put("left-words", ok ? now.stage.left_words : "");
  put("ends", ok ? now.ends : "");
}

function drawActs(ok) {
  const mine = now && (now.helm.mine || !now.helm.holder);
  for (const button of document.querySelectorAll("[data-verb]")) {
    const why = !ok ? (waiting() ? "nothing is known yet" : "no link") : now.closed[button.dataset.verb] || (mine ? "" : `${now.helm.holder} steers`);
    // Greyed, not disabled: it keeps its focus, and says why when it is pressed.
    button.setAttribute("aria-disabled", why ? "true" : "false");
    button.title = why;
  }
  if (!now) return;
  const helm = now.helm;
  const buttons = at("helm").querySelectorAll("button");
  buttons[0].hidden = helm.mine || helm.asked;
  buttons[1].hidden = !helm.mine;
  buttons[2].hidden = !(helm.mine && helm.asker) && !helm.asked;
  buttons[1].textContent = helm.asker ? `Hand over to ${helm.asker}` : "Let go of the steering";
  buttons[2].textContent = helm.asked ? "No longer ask" : "Keep it";
  const who = helm.mine ? "You steer" : helm.holder ? `${helm.holder} steers` : "Nobody steers: the first act takes it";
  const asks = helm.mine && helm.asker ? `. ${helm.asker} asks for it` : helm.asked ? ". You have asked for it" : "";
  put("helm-words", `This is ${helm.me}. ${who}${asks}. ${now.looking} ${now.looking === 1 ? "page looks" : "pages look"} on.`);
}

function drawSaid() {
  if (!now || now.said.n === saidShown) return;
  saidShown = now.said.n;
  if (!now.said.n) return;
  const by = now.said.by === now.helm.me ? "" : ` (${now.said.by})`;
  put("said", now.said.told + by);
  at("said").className = now.said.state;
}

function drawLists() {
  const list = at("recent");
  const lines = now.recent.slice().reverse();
  if (list.dataset.lines === lines.join("|")) return;
  list.dataset.lines = lines.join("|");
  list.textContent = "";
  for (const line of lines) {
    const item = document.createElement("li");
    item.textContent = line;
    list.append(item);
  }
}

function drawCurve() {
  if (!course || !course.parts.length || performance.now() - drawnAt < CHART_MS) return;
  drawnAt = performance.now();
  const part = chosen === null ? now.work : chosen;
  const name = course.parts[part].name;
  put("curve-title", `The run so far, and ahead: ${name}`);
  const last = points.length ? points[points.length - 1] : null;
  const zone = course.parts[part].zone;
  const told = (value) => (value === null || value === undefined ? "not known" : `${value} degrees ${course.unit}`);
  const words = last
    ? `${name}, ${Math.round(last[0] / 60)} minutes into the run: measured ${told(last[2 + 4 * zone])}, middle of the wood ${told(last[3 + 4 * zone])}, target ${told(last[1 + 4 * zone])}.`
    : "No run is on.";
  at("plot").setAttribute("aria-label", words);
  chart.draw(course, points, part).catch(() => put("curve-title", "The chart could not be loaded; the figures above are right"));
}

function draw() {
  due = false;
  const ok = fresh();
  if (ok) stopping.look(now, 1000 * (now.row_at + offset));
  document.body.classList.toggle("stale", !ok);
  document.body.classList.toggle("waiting", waiting());
  const row = ok && now.row_ms !== null ? String(now.row_ms) : "";
  if (document.body.dataset.row !== row) document.body.dataset.row = row;
  put("loud", loudness());
  put("link", ok ? "linked" : waiting() ? "waiting for the first message" : "NO LINK");
  drawWood(ok);
  drawNow(ok);
  drawActs(ok);
  drawSaid();
  if (!now || !course) return;
  strip.show(now.parts, now.work, ok, chosen === null ? now.work : chosen, `degrees ${course.unit}`);
  drawLists();
  drawCurve();
}

function wake() {
  if (due) return;
  due = true;
  requestAnimationFrame(draw);
}

// Hearing ----------------------------------------------------------------------------------------

function listen() {
  source = new EventSource("/stream");
  source.addEventListener("course", (event) => {
    course = JSON.parse(event.data);
    put("rig", course.rig || "Ribwright");
    const named = [course.piece, course.profile].filter(Boolean).join(" \u00b7 ");
    put("piece", named);
    at("simulated").hidden = !course.simulated;
    document.title = `${course.simulated ? "SIMULATED " : ""}${course.profile || "Ribwright at the bench"}`;
    put("notes-where", course.piece ? `At ${course.piece}.` : "Start the page with --piece and --side to write here.");
    buildMarks();
    nameNudges();
    drawnAt = 0;
    wake();
  });
  source.addEventListener("now", (event) => {
    const told = JSON.parse(event.data);
    const before = heardAt;
    heardAt = performance.now();
    const slack = Number.isFinite(before) ? (DRIFT * (heardAt - before)) / 1000 : 0;
    offset = Math.min(offset + slack, heardAt / 1000 - told.at);
    // From the first on: another run, or a stream that began anew.
    if (told.from === 0) points = [];
    points = points.concat(told.points);
    now = told;
    wake();
  });
  source.onerror = () => {
    // The browser connects again by itself, but not after an answer that is no stream.
    if (source.readyState === EventSource.CLOSED) {
      setTimeout(returnToIt, 2000);
    }
    // Another clock may answer next time: a server that was started anew.
    offset = Infinity;
    wake();
  };
}

// Messages come, are fresh where they come from and old by our clock: either they queue, or a clock has jumped.
// A stream that begins anew has no queue, and shows which.
function unqueue() {
  const late = now && course && now.linked && !silent() && now.row_at !== null &&
    now.at - now.row_at <= course.stale_s && age() > course.stale_s;
  lateTicks = late ? lateTicks + 1 : 0;
  if (lateTicks < LATE_TICKS) return;
  lateTicks = 0;
  offset = Infinity;
  source.close();
  listen();
}

// After an answer that was no stream: a new seat at this computer, or the page that asks for the code.
async function returnToIt() {
  try {
    const response = await fetch("/", { method: "HEAD" });
    if (response.headers.get("ribwright-page") === "pair") location.reload();
  } catch (error) {
    wake();
  }
  listen();
}

function buildMarks() {
  const home = at("marks");
  if (home.childElementCount) return;
  for (const [what, words] of Object.entries(course.marks)) {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.verb = "mark";
    button.dataset.values = JSON.stringify({ what });
    button.textContent = words;
    home.append(button);
  }
}

function nameNudges() {
  document.querySelectorAll("[data-verb=nudge]").forEach((button, which) => {
    const [byK, words] = course.nudges[which];
    button.dataset.values = JSON.stringify({ by_k: byK });
    button.textContent = words;
  });
}

// Asking -----------------------------------------------------------------------------------------

async function post(path, body, kind = "application/json") {
  const response = await fetch(path, { method: "POST", headers: { "content-type": kind }, body });
  if (response.status === 401) location.reload();
  return response.json();
}

function say(text, state) {
  put("said", text);
  at("said").className = state;
}

async function act(button) {
  if (button.getAttribute("aria-disabled") === "true") {
    say(`${button.textContent}: ${button.title}.`, "refused");
    return;
  }
  if (button.dataset.busy) return;
  button.dataset.busy = "1";
  setTimeout(() => delete button.dataset.busy, TWICE_MS);
  const values = JSON.parse(button.dataset.values || "{}");
  const seen = { stage: now.stage_number, cue: now.cue };
  try {
    const told = await post("/act", JSON.stringify({ verb: button.dataset.verb, values, seen }));
    say(told.told, told.ok ? "confirmed" : "refused");
  } catch (error) {
    say("Not asked: the computer that serves this page does not answer.", "lost");
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.id === "stop") stopping.press(now ? now.run : null);
  else if (button.dataset.verb) act(button);
  else if (button.dataset.steer) {
    post("/steer", JSON.stringify({ do: button.dataset.steer })).catch(() => say("Not asked: no answer.", "lost"));
  }
});

at("remark").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    const told = await post("/remark", JSON.stringify({ text: at("remark-text").value }));
    say(told.told, told.ok ? "confirmed" : "refused");
    if (told.ok) at("remark-text").value = "";
  } catch (error) {
    say("Not written: no answer. The text stays here.", "lost");
  }
});

at("photo").addEventListener("submit", async (event) => {
  event.preventDefault();
  const file = at("photo-file").files[0];
  if (!file) {
    say("Choose a photo first.", "refused");
    return;
  }
  try {
    const told = await post("/photo", file, file.type || "application/octet-stream");
    say(told.told, told.ok ? "confirmed" : "refused");
    if (told.ok) at("photo").reset();
  } catch (error) {
    say("Not kept: no answer, or the photo is too large.", "lost");
  }
});

const strip = new Strip(at("strip"), (part) => {
  chosen = part;
  drawnAt = 0;
  wake();
});
const chart = new Chart(at("plot"), at("keys"));
const stopping = new Stop(() => post("/act", JSON.stringify({ verb: "stop", values: {} })), say, wake);
addEventListener("resize", fit);
// A tablet that wakes up shows its last picture: the first thing it does is to look how old that is.
document.addEventListener("visibilitychange", draw);
setInterval(() => {
  unqueue();
  wake();
}, TICK_MS);
listen();
wake();
