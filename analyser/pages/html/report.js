
(() => {
  "use strict";
  // Reads the answers that stand in the page's data; works none out.
  const data = JSON.parse(document.getElementById("data").textContent);
  const $ = (id) => document.getElementById(id);
  const make = (tag, words = "", look = "") => {
    const made = document.createElement(tag);
    made.textContent = words;
    if (look) made.className = look;
    return made;
  };
  const literal = (words) => make("bdi", words);
  const many = (count, one, more = `${one}s`) => `${count} ${count === 1 ? one : more}`;
  const listed = (names, most = names.length) =>
    names.slice(0, most).join(", ") + (names.length > most ? ` and ${names.length - most} more` : "");
  const partOf = data.failures.map(() => "");
  for (const [part, numbers] of Object.entries(data.parts)) for (const number of numbers) partOf[number] = part;
  const modeOf = (number) => data.failures[number].slice(partOf[number].length + 1);
  const WORDS = { fails: "FAILED", slips: "SLIPPED", "is cut": "CUT", cuts: "CUTS", shifts: "SHIFTED",
    "lets go": "LETS GO", "holds on": "HOLDS ON", "loses footing": "NO FOOTING", strikes: "STRIKES" };

  let state = data.begins;
  let failed = [];
  let who = "";
  const answers = () => data.answers[data.states[state].answers];

  // -- reading an answer (analyser/uses/review/answers.py says why this is all)

  function told(from, happened) {
    const set = new Set(happened);
    const known = { falls: [], held: [], next: {}, by: {} };
    for (const body of from.bodies) {
      const left = from.sets[body.name].map((cut) => cut.filter((one) => !set.has(one)));
      if (left.some((rest) => rest.length === 0)) {
        known.falls.push(body.name);
        continue;
      }
      known.held.push(body.name);
      known.next[body.name] = [...new Set(left.filter((rest) => rest.length === 1).map((rest) => rest[0]))];
      known.by[body.name] = from.ways[body.name].filter((way) => !way.needs.some((one) => set.has(one)));
    }
    if (set.size > from.complete_to) known.held = null;
    if (set.size >= from.complete_to) known.next = null;
    const alone = set.size === 1 ? happened[0] : null;
    known.fates = alone === null ? ofTwo(from, happened) : from.fates[alone] || {};
    return known;
  }

  // What two failures do to those whom they drop only together.
  function ofTwo(from, happened) {
    if (happened.length !== 2) return {};
    const key = [...happened].sort((a, b) => a - b).join();
    const stored = (from.fates_of_two || []).find((one) => one.failures.join() === key);
    const found = {};
    for (const body of from.bodies) {
      if (from.sets[body.name].some((cut) => cut.join() === key)) found[body.name] = stored?.fates[body.name] || "FALLS";
    }
    return found;
  }

  // -- the picture

  const picture = $("picture");
  const svg = picture.querySelector("svg");
  const drawn = {};
  for (const [name, id] of Object.entries(data.picture.ids)) {
    const found = svg ? [...svg.querySelectorAll(`g.${id}`)] : [];
    const own = found.filter((one) => !one.classList.contains("slot") && one.classList[1] === id);
    const slots = found.filter((one) => one.classList.contains("slot"));
    const by = slots.filter((one) => one.classList.contains("by"));
    drawn[name] = { things: own, slots: slots.filter((one) => !by.includes(one)), by };
  }
  const absentOf = data.picture.absent.map((ids) => new Set(ids));
  const pressed = [];
  for (const [name, { things }] of Object.entries(drawn)) {
    if (!data.parts[name]) continue;
    for (const thing of things) {
      thing.classList.add("press");
      thing.setAttribute("role", "button");
      thing.dataset.part = name;
      thing.setAttribute("tabindex", "-1");
      const line = thing.querySelector(":scope > path");
      if (thing.classList.contains("edge") && line) {
        const wide = line.cloneNode();
        for (const one of ["fill", "stroke", "stroke-width"]) wide.removeAttribute(one);
        wide.setAttribute("class", "hit");
        thing.append(wide);
      }
      pressed.push(thing);
    }
  }
  if (svg) {
    svg.setAttribute("role", "group");
    svg.setAttribute("aria-label", "The system: arrows go from part to part, enter fails one");
    picture.removeAttribute("tabindex");
    svg.addEventListener("click", (event) => press(event.target.closest(".press")));
    svg.addEventListener("keydown", keyed);
    pressed.sort((a, b) => a.compareDocumentPosition(b) & Node.DOCUMENT_POSITION_FOLLOWING ? -1 : 1);
    if (pressed.length) pressed[0].setAttribute("tabindex", "0");
  }

  function press(thing) {
    if (!thing) return;
    reach(thing, false);
    const name = thing.dataset.part;
    const possible = data.parts[name].filter((one) => answers().possible.includes(one));
    if (failed.some((one) => partOf[one] === name)) failed = failed.filter((one) => partOf[one] !== name);
    else if (possible.length) add(possible.find((one) => modeOf(one) === "fails") ?? possible[0]);
    show();
  }

  function add(number) {
    if (!failed.includes(number)) failed.push(number);
    const most = answers().complete_to;
    while (failed.length > most) failed.shift();
  }

  function reach(thing, focus = true) {
    for (const one of pressed) one.setAttribute("tabindex", one === thing ? "0" : "-1");
    if (focus) thing.focus();
  }

  function keyed(event) {
    const thing = event.target.closest(".press");
    if (!thing) return;
    const there = pressed.filter((one) => !one.classList.contains("absent"));
    const at = there.indexOf(thing);
    const to = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: there.length - 1 }[event.key];
    if (to !== undefined) reach(there[(to + there.length) % there.length]);
    else if (event.key === "Enter" || event.key === " ") press(thing);
    else return;
    event.preventDefault();
  }

  function mark(name, word, look) {
    const { things, slots } = drawn[name] || { things: [], slots: [] };
    for (const one of things) if (look) one.classList.add(look);
    for (const one of slots) {
      one.querySelector("text").textContent = word;
      if (look) one.classList.add(look);
    }
  }

  function draw(known) {
    if (!svg) return;
    const looks = ["single", "falls", "failed", "one", "tips"];
    for (const { things, slots } of Object.values(drawn)) {
      for (const one of [...things, ...slots]) one.classList.remove(...looks);
      for (const one of slots) one.querySelector("text").textContent = "";
    }
    if (absentOf.length) {
      const gone = absentOf[state];
      for (const one of svg.querySelectorAll("g.node, g.edge")) {
        one.classList.toggle("absent", [...one.classList].some((token) => gone.has(token)));
      }
    }
    for (const body of answers().bodies) {
      mark(body.name, ...fate(body, known).slice(2));
      heldBy(body.name, known.held?.includes(body.name) ? known.by[body.name] : []);
    }
    const next = new Set(Object.values(known.next || {}).flat());
    for (const number of next) if (drawn[partOf[number]] && !isBody(partOf[number])) mark(partOf[number], "SINGLE", "single");
    for (const number of failed) {
      if (isBody(partOf[number])) for (const one of drawn[partOf[number]]?.things ?? []) one.classList.add("failed");
      else mark(partOf[number], WORDS[modeOf(number)] || "FAILED", "failed");
    }
    for (const one of pressed) {
      const name = one.dataset.part;
      const mine = failed.filter((number) => partOf[number] === name);
      one.setAttribute("aria-pressed", mine.length ? "true" : "false");
      const alone = data.parts[name].some((number) => next.has(number)) ? ", single point" : "";
      one.setAttribute("aria-label", (mine.length ? mine.map((n) => data.failures[n]).join(", ") : name) + alone);
    }
  }

  // By what a body is held, in its box: ways with nothing in common, then what would hold as well.
  function heldBy(name, ways) {
    const rows = new Map();
    const used = new Set();
    for (const way of ways) {
      if (rows.has(way.short)) continue;
      rows.set(way.short, `${way.needs.some((one) => used.has(one)) ? "or by" : "by"} ${way.short}`);
      for (const one of way.needs) used.add(one);
    }
    const told = [...rows.values()];
    (drawn[name]?.by ?? []).forEach((slot, row) => {
      const most = Number(slot.dataset.letters);
      const words = told[row] ?? "";
      slot.querySelector("text").textContent = words.length <= most ? words : `${words.slice(0, most - 1)}…`;
    });
  }

  const isBody = (name) => answers().bodies.some((one) => one.name === name);

  // What becomes of a body: how it looks, the words beside the picture, its word in the picture, its look there.
  function fate(body, known) {
    const name = body.name;
    const what = failed.length ? known.fates[name] : body.fate.fate === "held" ? undefined : body.fate.fate;
    if (known.falls.includes(name)) {
      if (!failed.length) return ["falls", `not held: ${what}`, "NOT HELD", "falls"];
      return ["falls", what || "NOT HELD", what ? what.split(/[ ,]/)[0] : "NOT HELD", "falls"];
    }
    const one = known.next && known.next[name].length > 0;
    if (what && failed.length) {
      const loud = what.split(/[ ,]/)[0];
      return ["falls", one ? `${what}; one failure from not being held` : what, loud === loud.toUpperCase() ? loud : "DROPS FIRST", "falls"];
    }
    if (known.held === null) return ["", "not told for so many together", "not told", ""];
    if (!failed.length) {
      const number = body.independent;
      const words = number === null ? "nothing that can fail drops it" : `${number}${body.independent_exact ? "" : " or more"} independent`;
      return [number === 1 ? "one" : "", `${what || "held"}: ${words}`, number === null ? "held" : words, number === 1 ? "one" : ""];
    }
    if (one) return ["one", "held, one failure from not being held", "1 FROM FALLING", "one"];
    return ["", "held", "held", ""];
  }

  // -- the panel

  function show() {
    const from = answers();
    const known = told(from, failed);
    draw(known);
    $("failed-head").textContent = failed.length ? "Failed" + (failed.length > 1 ? " together" : "") : "Nothing has failed";
    $("failed").replaceChildren(...failed.map(chip));
    const shown = from.bodies.filter((body) => !who || body.name === who);
    $("bodies").replaceChildren(...shown.map((body) => bodyRow(body, known)));
    $("heard").textContent = failed.length
      ? `${failed.map((one) => data.failures[one]).join(" and ")}: ` +
        (known.falls.length ? `${listed(known.falls)} ${known.falls.length === 1 ? "is" : "are"} not held` : known.held ? "everybody is held" : "not told")
      : "";
    forces();
    limits(from);
  }

  function chip(number) {
    const row = make("li");
    const others = data.parts[partOf[number]].filter((one) => answers().possible.includes(one));
    if (others.length > 1) {
      const choice = make("select");
      choice.setAttribute("aria-label", `How ${partOf[number]} fails`);
      for (const one of others) choice.append(new Option(data.failures[one], one, false, one === number));
      choice.addEventListener("change", () => {
        failed[failed.indexOf(number)] = Number(choice.value);
        show();
        $("failed").querySelector(`select[aria-label="How ${partOf[number]} fails"]`)?.focus();
      });
      row.append(choice);
    } else row.append(make("span", data.failures[number]));
    const away = make("button", "✕");
    away.type = "button";
    away.setAttribute("aria-label", `${data.failures[number]}: undo`);
    away.addEventListener("click", () => {
      failed = failed.filter((one) => one !== number);
      show();
      ($("failed").querySelector("button") || $("none")).focus();
    });
    row.append(away);
    return row;
  }

  function bodyRow(body, known) {
    const [look, words] = fate(body, known);
    const row = make("li", "", look);
    row.append(make("b", body.name), make("span", words, "word"));
    const alone = failed.length === 1 ? data.words[state]?.[failed[0]]?.[body.name] : "";
    if (alone && !known.falls.includes(body.name)) row.append(make("p", alone));
    if (known.falls.includes(body.name) || known.held === null) return row;
    const by = known.by[body.name];
    if (by.length) row.append(make("p", `by ${by[0].words}`));
    if (by.length > 1) row.append(make("p", `by ${by[1].words}`));
    if (by.length > 2) row.append(make("p", `${many(by.length - 2, "more way")} kept in this page`, "small"));
    if (!by.length) row.append(make("p", "by a way that this page does not keep: ask `stillheld whatif`", "small"));
    const next = known.next && known.next[body.name];
    if (next && next.length) row.append(make("p", `falls if one more follows: ${listed(next.map((one) => data.failures[one]), 6)}`, "small"));
    return row;
  }

  function forces() {
    const box = $("forces");
    box.replaceChildren();
    const after = data.states[state].after;
    if (!failed.length || !Object.keys(after).length) return;
    if (failed.length > 1) {
      box.append(make("p", "Tensions and drops were worked out for one failure alone.", "small"));
      return;
    }
    const found = after[failed[0]];
    if (!found) {
      box.append(make("p", "The forces after this failure do not balance well enough to be told.", "small"));
      return;
    }
    if (found.breaks) box.append(make("p", found.breaks));
    if (!found.lines.length) {
      box.append(make("p", `No tension changes by more than ${data.printed_in.least}.`, "small"));
      return;
    }
    const table = make("table");
    table.append(make("caption", `Tensions in ${data.printed_in.force}`));
    const head = table.createTHead().insertRow();
    for (const [k, word] of ["of", "before", "at rest", "peak"].entries()) {
      const cell = make("th", word, k ? "number" : "");
      cell.scope = "col";
      head.append(cell);
    }
    const body = table.createTBody();
    for (const one of [...found.lines].sort((a, b) => (b.peak_kN ?? b.static_kN) - (a.peak_kN ?? a.static_kN))) {
      const row = body.insertRow();
      const name = make("th", one.name);
      name.scope = "row";
      row.append(name, ...[one.before_kN, one.static_kN, one.peak_kN].map((kn) => make("td", kn === null ? "–" : (kn * data.printed_in.one_kN).toFixed(data.printed_in.digits), "number")));
    }
    box.append(table);
  }

  function limits(from) {
    const words = [`Who is not held is complete for up to ${from.complete_to} together.`];
    if (failed.length > 1) words.push("What happens to whom is told for one failure alone, and for two that drop somebody only together.");
    if (failed.length >= from.complete_to) words.push(`Who is one failure from not being held is told for up to ${from.complete_to - 1}.`);
    words.push("Held does not say how far anybody drops before that.");
    $("limits").textContent = words.join(" ");
  }

  // -- states, the list of failures, who is shown

  function stand() {
    const now = data.states[state];
    if ($("state")) {
      const words = now.step === null ? "as first attached" : `stage “${now.stage}”, after “${now.step}” (line ${now.line})`;
      const said = `State ${now.number} (0 to ${data.states.length - 1}): `;
      const broken = now.broken ? "; a requirement is broken here" : "";
      $("state-words").replaceChildren(said, literal(words), make("b", broken));
      $("state").value = state;
      $("state").setAttribute("aria-valuetext", said + words + broken);
      document.querySelector("#sets .of-state").textContent = state ? ` in state ${state}` : " as first attached";
    }
    failed = failed.filter((one) => answers().possible.includes(one));
    const first = new Option("a part …", "");
    $("more").replaceChildren(first, ...answers().possible.map((one) => new Option(data.failures[one], one)));
    table();
    show();
  }

  function table() {
    const from = answers();
    const falls = new Map();
    for (const body of from.bodies) {
      if (who && body.name !== who) continue;
      for (const cut of from.sets[body.name]) {
        const key = cut.join();
        if (!falls.has(key)) falls.set(key, { cut, falls: [] });
        falls.get(key).falls.push(body.name);
      }
    }
    const sets = [...falls.values()].sort((a, b) => a.cut.length - b.cut.length || a.cut[0] - b.cut[0] || a.cut[1] - b.cut[1] || a.cut[2] - b.cut[2]);
    const body = $("set-table").tBodies[0];
    body.replaceChildren(...sets.map((one, number) => setRow(one, number)));
    if (!sets.length) body.append(setRow({ cut: null, falls: ["nobody"] }, -1));
    $("more-sets").textContent = many(sets.length, "failure set") + (who ? ` of ${who}` : "");
    shownSets = sets;
  }
  let shownSets = [];

  function setRow({ cut, falls }, number) {
    const row = document.createElement("tr");
    const words = cut === null ? `none up to ${answers().complete_to} together` : cut.length ? cut.map((one) => data.failures[one]).join("; ") : "nothing: not held to begin with";
    const name = make("th", words);
    name.scope = "row";
    row.append(make("td", cut ? cut.length : "–", "number"), name, make("td", falls.join(", ")));
    const last = make("td");
    if (cut && cut.length) {
      const button = make("button", "show");
      button.type = "button";
      button.dataset.set = number;
      last.append(button);
    }
    row.append(last);
    return row;
  }
  $("set-table").addEventListener("click", (event) => {
    const chosen = event.target.dataset?.set;
    if (chosen === undefined) return;
    failed = [...shownSets[chosen].cut];
    show();
    $("ask").scrollIntoView({ behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  });

  const concerns = (one) => !who || !one.dataset.bodies || one.dataset.bodies.split(" ").includes(who);
  function filter() {
    for (const one of document.querySelectorAll("[data-bodies]")) one.hidden = !concerns(one);
    table();
    show();
  }

  $("more").addEventListener("change", () => {
    if ($("more").value === "") return;
    add(Number($("more").value));
    $("more").value = "";
    show();
  });
  $("none").addEventListener("click", () => { failed = []; show(); });
  $("who")?.addEventListener("change", () => { who = $("who").value; filter(); });
  const go = (to) => { state = Math.max(0, Math.min(data.states.length - 1, to)); stand(); };
  $("state")?.addEventListener("input", () => go(Number($("state").value)));
  $("earlier")?.addEventListener("click", () => go(state - 1));
  $("later")?.addEventListener("click", () => go(state + 1));

  let wide = 1;
  const zoom = (by) => {
    wide = by ? Math.max(0.5, Math.min(5, wide * by)) : 1;
    svg.style.setProperty("width", `${100 * wide}%`);
    svg.style.setProperty("min-width", wide === 1 ? "" : "0");
  };
  $("larger").addEventListener("click", () => zoom(1.3));
  $("smaller").addEventListener("click", () => zoom(1 / 1.3));
  $("fit").addEventListener("click", () => zoom(0));

  // -- the reviewer's sheet

  const rows = [...document.querySelectorAll(".item[data-item]")];
  const KEY = `stillheld review ${data.content}`;
  const FIELDS = ["item", "text", "answer", "note", "name", "date"];
  const sheet = new Map((data.review?.entries || []).map((one) => [one.item, one]));
  const unfit = [];
  const store = {
    get() { try { return JSON.parse(localStorage.getItem(KEY)); } catch { return null; } },
    set(value) { try { localStorage.setItem(KEY, JSON.stringify(value)); return true; } catch { return false; } },
    clear() { try { localStorage.removeItem(KEY); } catch { /* nothing was kept */ } },
  };
  const today = () => {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((one) => String(one).padStart(2, "0")).join("-");
  };

  function review() {
    return { format: data.review_format, rig: data.rig, revision: data.revision, content: data.content,
      entries: [...sheet.values(), ...unfit] };
  }

  function keep() {
    const kept = store.set({ ...review(), reviewer: $("reviewer").value });
    count(kept ? "kept in this browser only, until it is exported" : "this browser keeps nothing: export before closing the page");
  }

  function count(words = "") {
    const done = rows.filter((row) => sheet.get(data.items[row.dataset.item].id)?.answer).length;
    $("kept").textContent = `${done} of ${rows.length} answered${words ? `; ${words}` : ""}`;
  }

  function answered(row) {
    const item = data.items[row.dataset.item];
    const answer = row.querySelector("input[type=radio]:checked")?.value || "";
    const note = row.querySelector(".note input").value;
    if (!$("date").value) $("date").value = today();
    if (answer) sheet.set(item.id, { item: item.id, text: item.text, answer, note, name: $("reviewer").value, date: $("date").value });
    write(row);
    keep();
    if (!answer) $("kept").textContent = "choose agree, change or accept: a note alone is not kept";
    else if (answer === "accept" && !note.trim()) $("kept").textContent += "; to accept a risk, say why in the note";
  }

  function write(row) {
    const entry = sheet.get(data.items[row.dataset.item].id);
    const answer = entry?.answer || "";
    for (const one of row.querySelectorAll("input[type=radio]")) one.checked = one.value === answer;
    const by = entry?.name ? [literal(entry.name), entry.date ? `, ${entry.date}` : ""] : [entry?.date || ""];
    row.querySelector(".by").replaceChildren(...by);
    row.querySelector(".signed").replaceChildren(...by.map((one) => (typeof one === "string" ? one : one.cloneNode(true))));
    row.querySelector(".said").replaceChildren(entry?.note ? literal(entry.note) : make("span", "", "fill"));
    for (const one of row.querySelectorAll(".choice")) {
      const word = one.textContent.slice(2);
      one.textContent = `${word === answer ? "☒" : "☐"} ${word}`;
    }
  }

  function lay(entries) {
    const known = new Set(data.items.map((one) => one.id));
    for (const entry of entries) {
      if (known.has(entry.item)) sheet.set(entry.item, entry);
      else if (!unfit.some((one) => one.item === entry.item)) unfit.push(entry);
    }
    for (const row of rows) {
      const entry = sheet.get(data.items[row.dataset.item].id);
      row.querySelector(".note input").value = entry?.note || "";
      write(row);
    }
    const box = $("unfit");
    box.hidden = !unfit.length;
    box.replaceChildren(make("p", `${many(unfit.length, "answer")} to what is not found in this text (kept, and exported again):`));
    const list = make("ul");
    for (const one of unfit) {
      const row = make("li");
      row.append(literal(one.text || one.item), make("b", ` ${one.answer}`), " ", literal(one.note || ""));
      list.append(row);
    }
    box.append(list);
  }

  function sound(given) {
    if (given?.format !== data.review_format || !Array.isArray(given.entries)) return null;
    const entries = given.entries.map((one) => Object.fromEntries(FIELDS.map((name) => [name, one?.[name] ?? ""])));
    const right = entries.every((one) => FIELDS.every((name) => typeof one[name] === "string") &&
      one.item && ["agree", "change", "accept"].includes(one.answer) && /^(\d{4}-\d\d-\d\d)?$/.test(one.date));
    return right ? entries : null;
  }

  async function bring() {
    const file = $("import").files[0];
    if (!file) return;
    let given = null;
    try { given = JSON.parse(await file.text()); } catch { /* told below */ }
    const entries = sound(given);
    $("import").value = "";
    if (!entries) {
      $("kept").textContent = `${file.name} is not a review that a report page has exported: nothing was changed`;
      return;
    }
    lay(entries);
    keep();
    const other = given.content === data.content ? "" : ", made of another text";
    count(`${many(entries.length, "answer")} brought in from ${file.name}${other}` + (unfit.length ? `; ${unfit.length} fit nothing here and stand above the list` : ""));
  }

  function give() {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([`${JSON.stringify(review(), null, 2)}\n`], { type: "application/json" }));
    link.download = `${data.file.replace(/\.rig$/, "")}-review.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    count(`exported as ${link.download}`);
  }

  for (const row of rows) {
    row.addEventListener("change", () => answered(row));
    row.querySelector(".note input").addEventListener("input", () => answered(row));
  }
  $("export").addEventListener("click", give);
  $("import").addEventListener("change", bring);
  $("print").addEventListener("click", () => window.print());
  $("forget").addEventListener("click", () => {
    store.clear();
    sheet.clear();
    unfit.length = 0;
    lay(data.review?.entries || []);
    count("what was answered in this browser is cleared");
  });

  for (const one of document.querySelectorAll(".script")) one.hidden = false;
  document.documentElement.classList.add("scripted");
  for (const one of document.querySelectorAll(".wide, pre")) if (one.scrollWidth > one.clientWidth) one.tabIndex = 0;
  const before = store.get();
  if (before?.reviewer) $("reviewer").value = before.reviewer;
  lay(sound(before) || []);
  count(before ? "kept in this browser only, until it is exported" : "");
  stand();
})();
