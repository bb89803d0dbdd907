// The curve of one part: targets, readings and wood so far, the profile ahead, a rehearsal and the last run behind.
const MOST = 400;

function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

// Every so many points, so that a long run is drawn as quickly as a short one.
function thinned(points) {
  const every = Math.ceil(points.length / MOST);
  return every < 2 ? points : points.filter((_, at) => at % every === 0 || at === points.length - 1);
}

export class Chart {
  constructor(home, keys) {
    this.home = home;
    this.keys = keys;
    this.plot = null;
    this.shape = "";
    this.waiting = null;
    matchMedia("(prefers-color-scheme: dark)").addListener(() => {
      this.shape = "";
      if (this.last) this.draw(...this.last);
    });
    addEventListener("resize", () => {
      if (this.plot) this.plot.setSize(this.size());
    });
  }

  // The library comes after the figures: it is the largest file, and they come first.
  load() {
    if (!this.waiting) {
      this.waiting = new Promise((resolve, reject) => {
        const style = document.createElement("link");
        style.rel = "stylesheet";
        style.href = "/static/vendor/uplot.css";
        const script = document.createElement("script");
        script.src = "/static/vendor/uplot.js";
        script.onload = resolve;
        script.onerror = reject;
        document.head.append(style, script);
      });
    }
    return this.waiting;
  }

  size() {
    const wide = Math.max(260, this.home.clientWidth);
    return { width: wide, height: Math.round(Math.min(420, Math.max(200, wide * 0.4))) };
  }

  // course: the slow half. points: all of the run. part: position of the part that is drawn.
  async draw(course, points, part) {
    this.last = [course, points, part];
    await this.load();
    const [shownCourse, shownPoints, at] = this.last;
    const where = shownCourse.parts[at];
    if (!where) return;
    const { tables, keys } = this.data(shownCourse, shownPoints, where);
    const data = window.uPlot.join(tables);
    const shape = keys.map((key) => key.label).join() + shownCourse.unit + where.name;
    if (shape !== this.shape || !this.plot) this.rebuild(shape, keys, shownCourse.unit, data);
    else this.plot.setData(data);
  }

  data(course, points, where) {
    const column = 1 + 4 * where.zone;
    const past = thinned(points);
    const minutes = past.map((point) => point[0] / 60);
    const measured = past.map((point) => point[column + 1]);
    const mid = past.map((point) => point[column + 2]);
    const low = past.map((point) => (point[column + 2] === null ? null : point[column + 2] - point[column + 3]));
    const high = past.map((point) => (point[column + 2] === null ? null : point[column + 2] + point[column + 3]));
    const target = past.map((point) => point[column]);
    const tables = [[minutes, low, high, target, measured, mid]];
    const ink = (name) => colour(name);
    const keys = [
      { label: "band", hide: true },
      { label: "band", hide: true },
      { label: "target", stroke: ink("--steel"), width: 2, dash: [6, 4] },
      { label: "measured", stroke: ink("--walnut"), width: 1.5 },
      { label: "middle of the wood, estimate with its band", stroke: ink("--indigo"), width: 3, fill: true },
    ];
    const bands = [[2, 1, ink("--indigo-band")]];
    const zone = course.zones[where.zone];
    const legs = course.ahead.filter((leg) => leg.zones.includes(zone));
    if (legs.length) {
      const found = [[], []];
      for (const leg of legs) {
        found[0].push(leg.from / 60, Math.max(leg.to, leg.from + 1) / 60 - 1e-6);
        found[1].push(leg.target, leg.target);
      }
      tables.push(found);
      keys.push({ label: "profile ahead", stroke: ink("--steel"), width: 1, dash: [2, 4] });
    }
    const rehearsed = course.rehearsed.parts && course.rehearsed.parts[where.name];
    if (rehearsed) {
      tables.push([course.rehearsed.time.map((at) => at / 60), rehearsed.low, rehearsed.high]);
      bands.push([keys.length + 2, keys.length + 1, ink("--rehearsed")]);
      keys.push({ label: "rehearsed", hide: true }, { label: "wood as rehearsed", stroke: ink("--rehearsed"), width: 0, fill: true });
    }
    const last = course.last[zone];
    if (last && last.length) {
      tables.push([last.map((one) => one[0] / 60), last.map((one) => one[1])]);
      keys.push({ label: `measured last time: ${course.last_words}`, stroke: ink("--walnut"), width: 1, dash: [1, 4] });
    }
    this.bands = bands;
    return { tables, keys };
  }

  rebuild(shape, keys, unit, data) {
    this.shape = shape;
    if (this.plot) this.plot.destroy();
    const letters = `${Math.round(0.7 * parseFloat(getComputedStyle(document.documentElement).fontSize))}px system-ui, sans-serif`;
    const axis = { font: letters, labelFont: letters, stroke: colour("--ink"), grid: { stroke: colour("--line"), width: 1 }, ticks: { stroke: colour("--line") } };
    this.plot = new window.uPlot(
      {
        ...this.size(),
        legend: { show: false },
        cursor: { show: false },
        scales: { x: { time: false } },
        axes: [
          { ...axis, label: "minutes of the run", labelSize: 22, size: 36 },
          { ...axis, label: `\u00b0${unit}`, labelSize: 22, size: 50 },
        ],
        series: [
          {},
          ...keys.map((key) => ({
            label: key.label,
            stroke: key.hide ? "transparent" : key.stroke,
            width: key.hide ? 0 : key.width,
            dash: key.dash,
            points: { show: false },
          })),
        ],
        bands: this.bands.map(([upper, lower, fill]) => ({ series: [upper, lower], fill })),
      },
      data,
      this.home,
    );
    this.keys.textContent = "";
    for (const key of keys) {
      if (key.hide) continue;
      const item = document.createElement("li");
      const sample = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      sample.setAttribute("viewBox", "0 0 34 12");
      sample.setAttribute("aria-hidden", "true");
      if (key.fill) {
        const area = document.createElementNS("http://www.w3.org/2000/svg", "rect");
        for (const [name, value] of Object.entries({ x: 0, y: 1, width: 34, height: 10 })) area.setAttribute(name, value);
        area.setAttribute("fill", key.width ? colour("--indigo-band") : key.stroke);
        sample.append(area);
      }
      const line = document.createElementNS("http://www.w3.org/2000/svg", "path");
      line.setAttribute("d", "M 0 6 H 34");
      line.setAttribute("stroke", key.stroke);
      line.setAttribute("stroke-width", key.width);
      if (key.dash) line.setAttribute("stroke-dasharray", key.dash.join(" "));
      sample.append(line);
      item.append(sample, key.label);
      this.keys.append(item);
    }
  }
}
