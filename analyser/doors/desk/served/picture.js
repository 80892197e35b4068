// The picture of a rig: its parts can be found, pressed, lit and written on. It knows nothing of where it is shown.

const SPACE = "http://www.w3.org/2000/svg";
const LOOKS = ["single", "falls", "failed", "one", "tips", "lit"];
const LEAST = matchMedia("(pointer: coarse)").matches ? 8 : 3.5; // px of its smaller words: the whole is shown, but not smaller
const READ = 11; // px of them that are read with ease: where the first press of `larger` leads
const WORDS = 10; // points of its smaller words, before the layout scales them

export class Picture {
  /** `pressed(name, how)`: a part was pressed ("show" its line, "fail" it, or "drop" it somewhere at `event`). */
  constructor(host, { pressed, label }) {
    Object.assign(this, { host, pressed, label, zoom: 0, number: -1 });
    this.things = new Map(); // name → { things, slots }
    this.all = [];
    this.state = 0;
    this.absent = [];
    host.addEventListener("click", (event) => {
      const thing = event.target.closest?.(".press");
      if (thing && !this.dragged) this.press(thing, "show");
      this.dragged = false;
    });
    host.addEventListener("keydown", (event) => this.keyed(event));
    host.addEventListener("pointerdown", (event) => this.grabbed(event));
    new ResizeObserver(() => this.size()).observe(host);
  }

  /** Put up a new drawing. `ids`: what each name is called in it; `absent`: what each state lacks. */
  show({ svg, ids, absent, number }, parts) {
    const focused = this.host.contains(document.activeElement) ? document.activeElement.dataset.part : null;
    const at = [this.host.scrollLeft, this.host.scrollTop];
    const parsed = new DOMParser().parseFromString(`<body>${svg}</body>`, "text/html").querySelector("svg");
    this.svg = parsed;
    this.number = number;
    this.absent = absent.map((some) => new Set(some));
    this.things.clear();
    this.all = [];
    parsed.setAttribute("role", "group");
    parsed.setAttribute("aria-label", this.label);
    for (const [name, id] of Object.entries(ids)) {
      const found = [...parsed.getElementsByClassName(id)];
      const things = found.filter((one) => !one.classList.contains("slot") && one.classList[1] === id);
      const slots = found.filter((one) => one.classList.contains("slot"));
      const by = slots.filter((one) => one.classList.contains("by"));
      this.things.set(name, { things, slots: slots.filter((one) => !by.includes(one)), by });
      if (parts[name]) for (const thing of things) this.pressable(thing, name);
    }
    for (const inner of parsed.querySelectorAll(".press .press")) { // a point of a body is pressed by itself
      inner.parentElement.closest(".press").after(inner);
    }
    this.all.sort((a, b) => (a.compareDocumentPosition(b) & Node.DOCUMENT_POSITION_FOLLOWING ? -1 : 1));
    if (this.all.length) this.all[0].tabIndex = 0;
    const box = parsed.viewBox.baseVal;
    this.own = [box.width, box.height];
    const shrunk = parsed.querySelector("g")?.transform.baseVal.consolidate()?.matrix.a ?? 1;
    this.least = LEAST / (WORDS * shrunk);
    this.read = READ / (WORDS * shrunk);
    this.size(); // before it is put up: it is laid out once
    this.host.replaceChildren(parsed);
    if (at[0] || at[1]) [this.host.scrollLeft, this.host.scrollTop] = at;
    if (focused) this.reach(this.all.find((one) => one.dataset.part === focused), true);
  }

  /** Nothing is drawn: these words stand there. */
  clear(words) {
    this.host.replaceChildren(words);
    Object.assign(this, { svg: null, all: [] });
    this.things.clear();
  }

  pressable(thing, name) {
    thing.classList.add("press");
    thing.setAttribute("role", "button");
    thing.dataset.part = name;
    thing.tabIndex = -1;
    const line = thing.querySelector(":scope > path");
    if (thing.classList.contains("edge") && line) {
      const wide = document.createElementNS(SPACE, "path");
      wide.setAttribute("d", line.getAttribute("d"));
      wide.setAttribute("class", "hit");
      thing.append(wide);
    }
    this.all.push(thing);
  }

  press(thing, how, event) {
    this.reach(thing, false);
    this.pressed(thing.dataset.part, how, event);
  }

  there() {
    return this.all.filter((one) => !one.classList.contains("absent"));
  }

  reach(thing, focus = true) {
    if (!thing) return;
    for (const one of this.all) one.tabIndex = one === thing ? 0 : -1;
    if (focus) thing.focus({ preventScroll: true });
    if (focus) this.bring(thing);
  }

  focus() {
    this.reach(this.all.find((one) => one.tabIndex === 0) ?? this.there()[0]);
  }

  keyed(event) {
    const thing = event.target.closest?.(".press");
    if (!thing || event.ctrlKey || event.metaKey || event.altKey) return;
    const there = this.there();
    const at = there.indexOf(thing);
    const to = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: there.length - 1 }[event.key];
    if (to !== undefined) this.reach(there[(to + there.length) % there.length]);
    else if (event.key === "Enter" || event.key === " ") this.press(thing, "show", event);
    else if (event.key === "x" || event.key === "X" || event.key === "Delete") this.press(thing, "fail", event);
    else if (event.key === "0") this.pressed(null, "none", event);
    else return;
    event.preventDefault();
  }

  /** With a mouse or a pen a part can be dragged off the picture. */
  grabbed(event) {
    const thing = event.target.closest?.(".press");
    if (!thing || event.button !== 0 || event.pointerType === "touch") return;
    const from = [event.clientX, event.clientY];
    let ghost = null;
    const move = (to) => {
      if (!ghost && Math.hypot(to.clientX - from[0], to.clientY - from[1]) < 8) return;
      if (!ghost) {
        ghost = document.createElement("div");
        ghost.className = "ghost";
        ghost.textContent = thing.dataset.part;
        document.body.append(ghost);
        this.dragged = true;
      }
      ghost.style.transform = `translate(${to.clientX + 10}px, ${to.clientY + 10}px)`;
      to.preventDefault();
    };
    const end = (to) => {
      removeEventListener("pointermove", move);
      removeEventListener("pointerup", end);
      removeEventListener("pointercancel", end);
      if (!ghost) return;
      ghost.remove();
      setTimeout(() => (this.dragged = false), 0);
      if (to.type === "pointerup") this.press(thing, "drop", to);
    };
    addEventListener("pointermove", move);
    addEventListener("pointerup", end);
    addEventListener("pointercancel", end);
  }

  // -- what is written on it

  /** `marks`: for each name a word and a look; `held`: by what, a row a way; `labels` are for who can't see it. */
  mark(marks, held, labels) {
    if (!this.svg) return;
    for (const { things, slots } of this.things.values()) {
      for (const one of [...things, ...slots]) one.classList.remove("single", "falls", "failed", "one", "tips");
      for (const one of slots) one.querySelector("text").textContent = "";
    }
    for (const [name, [word, look]] of Object.entries(marks)) {
      const { things, slots } = this.things.get(name) ?? { things: [], slots: [] };
      for (const one of things) if (look) one.classList.add(look);
      for (const one of slots) {
        one.querySelector("text").textContent = word;
        if (look) one.classList.add(look);
      }
    }
    for (const [name, { by }] of this.things) {
      by.forEach((slot, row) => {
        const words = held[name]?.[row] ?? "";
        const most = Number(slot.dataset.letters);
        slot.querySelector("text").textContent = words.length <= most ? words : `${words.slice(0, most - 1)}…`;
      });
    }
    for (const one of this.all) {
      const mark = marks[one.dataset.part];
      one.setAttribute("aria-label", labels(one.dataset.part, mark?.[0] ?? ""));
      one.setAttribute("aria-pressed", mark?.[1] === "failed" ? "true" : "false");
    }
    this.dim();
  }

  /** Show one state: what isn't there in it is hidden. */
  at(state) {
    this.state = state;
    this.dim();
  }

  dim() {
    if (!this.svg || !this.absent.length) return;
    const gone = this.absent[Math.min(this.state, this.absent.length - 1)];
    for (const one of this.svg.querySelectorAll("g.node, g.edge")) {
      one.classList.toggle("absent", [...one.classList].some((token) => gone.has(token)));
    }
  }

  /** Light some parts, and bring the first of them into sight. */
  light(names, bring = true) {
    if (!this.svg) return;
    for (const one of this.svg.querySelectorAll(".lit")) one.classList.remove("lit");
    let first = null;
    for (const name of names) {
      for (const one of this.things.get(name)?.things ?? []) {
        one.classList.add("lit");
        first ??= one;
      }
    }
    if (first && bring) this.bring(first);
  }

  bring(thing) {
    const box = thing.getBoundingClientRect();
    const frame = this.host.getBoundingClientRect();
    const move = (low, high, from, to) => (low < from ? low - from - 24 : high > to ? high - to + 24 : 0);
    this.host.scrollBy(move(box.left, box.right, frame.left, frame.right), move(box.top, box.bottom, frame.top, frame.bottom));
  }

  // -- its size

  /** Larger or smaller by a factor; 0: the whole of it, however small. What is lit stays in sight. */
  resize(by) {
    const now = this.zoom || this.scale;
    const next = by > 1 && now < this.read ? Math.max(now * by, this.read) : now * by;
    this.zoom = by ? Math.max(0.3 * this.least, Math.min(4, next)) : 0;
    this.whole = by === 0;
    this.size();
    const lit = this.svg?.querySelector(".lit");
    if (lit) this.bring(lit);
  }

  size() {
    if (!this.svg) return;
    const fit = Math.min((this.host.clientWidth - 2) / this.own[0], (this.host.clientHeight - 4) / this.own[1]);
    this.scale = this.zoom || (this.whole ? fit : Math.max(this.least, Math.min(fit, 1.4 * this.read)));
    if (!(this.scale > 0)) this.scale = this.least;
    this.svg.style.width = `${this.own[0] * this.scale}px`;
    this.svg.style.height = `${this.own[1] * this.scale}px`;
  }
}

export { LOOKS };
