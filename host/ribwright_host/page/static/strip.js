// The strip as it lies on the form, from the upper bout's end, and what the wood of each part has reached.
const SPACE = "http://www.w3.org/2000/svg";
// One side of the outline, in thirds of 1000 by 104.
const OUTLINE = [
  "M 8 96 C 20 40 90 22 165 22 S 290 42 333 56",
  "M 333 56 C 380 71 430 80 500 80 S 620 68 667 50",
  "M 667 50 C 714 32 760 9 835 9 S 984 34 992 96",
];

function pieces(count) {
  if (count === OUTLINE.length) return OUTLINE;
  const wide = 984 / count;
  return Array.from({ length: count }, (_, at) => `M ${8 + at * wide} 60 L ${8 + (at + 1) * wide} 60`);
}

export class Strip {
  // home: the element it is drawn in. choose: called with the position of a part that was touched.
  constructor(home, choose) {
    this.home = home;
    this.choose = choose;
    this.names = "";
    this.lines = [];
    this.cells = [];
  }

  build(parts) {
    const names = parts.map((part) => part.name).join();
    if (names === this.names) return;
    this.names = names;
    this.home.textContent = "";
    const drawing = document.createElementNS(SPACE, "svg");
    drawing.setAttribute("viewBox", "0 0 1000 108");
    drawing.setAttribute("aria-hidden", "true");
    drawing.setAttribute("preserveAspectRatio", "none");
    this.lines = pieces(parts.length).map((path) => {
      const line = document.createElementNS(SPACE, "path");
      line.setAttribute("d", path);
      drawing.append(line);
      return line;
    });
    const row = document.createElement("div");
    row.className = `parts of${parts.length}`;
    this.cells = parts.map((part, at) => {
      const button = document.createElement("button");
      button.type = "button";
      const cell = { button };
      for (const name of ["name", "mid", "more", "most"]) {
        cell[name] = document.createElement("span");
        cell[name].className = name;
        button.append(cell[name]);
      }
      cell.name.textContent = part.name;
      button.addEventListener("click", () => this.choose(at));
      row.append(button);
      return cell;
    });
    this.home.append(drawing, row);
  }

  // parts, work: of the moment. fresh: whether they may be shown. chosen: the part whose curve is drawn.
  show(parts, work, fresh, chosen, unit) {
    const zone = parts.length ? parts[work].zone : -1;
    this.build(parts);
    parts.forEach((part, at) => {
      const known = fresh && part.mid !== null;
      const cell = this.cells[at];
      this.lines[at].setAttribute("class", `${part.heated ? "work" : ""} ${known ? "" : "unknown"}`);
      cell.mid.textContent = known ? `${part.mid}\u00b0` : "\u2013\u2013";
      const held = part.held === null ? `\u00b1${part.band}` : `\u00b1${part.band} for ${part.held}`;
      const most = part.most === null ? "" : `at most ${part.most}\u00b0`;
      cell.more.textContent = known ? held : fresh ? "no estimate" : "not known";
      cell.most.textContent = fresh ? most : "";
      cell.name.textContent = part.zone === zone ? `${part.name} \u25c2` : part.name;
      cell.button.setAttribute("aria-pressed", at === chosen ? "true" : "false");
      const words = known
        ? `${part.name}${part.heated ? ", in work" : ""}: about ${part.mid} ${unit}, within ${part.band} for ${part.held || "no time yet"}${most && `, ${most}`}. Show its curve`
        : `${part.name}${part.heated ? ", in work" : ""}: no estimate. Show its curve`;
      if (cell.button.getAttribute("aria-label") !== words) cell.button.setAttribute("aria-label", words);
    });
  }
}
