// The desk: the text, the picture, and who is held by what, kept together.
import { $, button, data, either, listed, make, say, toolbar } from "./words.js";
import { Picture } from "./picture.js";
import { Talk } from "./talk.js";

const SHOWN_AS = { person: "falls", weight: "falls", runs: "falls", slackens: "tips", held: "" }; // in the picture
const ORDER = ["falls", "person", "weight", "runs", "tips", "slackens", "one", "held"];
const NOT_HELD = ["falls", "person", "weight", "runs"];
const WORD_OF_MODE = { fails: "FAILED", slips: "SLIPPED", "is cut": "CUT", cuts: "CUTS", shifts: "SHIFTED", "lets go": "LETS GO",
  "holds on": "HOLDS ON", "loses footing": "NO FOOTING", strikes: "STRIKES" };
const KEPT = "stillheld desk";

const tab = (() => {
  const known = sessionStorage.getItem("stillheld tab");
  if (known) return known;
  const made = crypto.randomUUID();
  sessionStorage.setItem("stillheld tab", made);
  return made;
})();
const key = localStorage.getItem("stillheld key") ?? "";
const talk = new Talk();

if (data.file) await desk();
else begin();

// -- the first page

function begin() {
  const greeted = new Promise((done) => {
    talk.onopen = async () => {
      await talk.ask("hello", { tab, key });
      done();
    };
  });
  talk.connect();
  document.querySelector("main").addEventListener("click", async (event) => {
    const chosen = event.target.closest("button[data-sort]");
    if (!chosen) return;
    try {
      await greeted; // a press may come before the desk has answered
      await talk.ask("start", { sort: chosen.dataset.sort, from: chosen.dataset.from, name: $("name").value });
      location.reload();
    } catch (error) {
      $("said").textContent = error.message;
      $("name").focus();
    }
  });
}

// -- the desk

async function desk() {
  const { Text, compared } = await import("./text.js");
  let text = null; // the editor, once the desk has said hello
  let pen = false;
  let saved = "";
  let savedText = "";
  let shown = null; // what the check last said
  let glance = null; // who is held, of a text that may be newer
  let number = 0; // of the text that was last read
  let own = { number: 0, version: null }; // of the page's text, as the desk counts, and of which version that is so
  let unread = null;
  let state = 0;
  let failed = [];
  let answer = null; // what follows what has failed
  let chosen = null; // the part that was pressed last
  let mended = null;

  const picture = new Picture($("picture"), { pressed, label: say("picture-of") });

  function announce(words, look = "") {
    $("said").replaceChildren(words ? make("p", words, look) : "");
    clearTimeout(announce.timer);
    if (words && look !== "bad") announce.timer = setTimeout(() => announce(""), 8000);
  }

  $("said").addEventListener("click", () => announce("")); // out of the way

  // -- the conversation

  talk.onopen = async () => {
    const hello = await talk.ask("hello", { tab, key });
    $("gone").hidden = true;
    if (!text) opened(hello);
    else {
      text.reconnect();
      penIs(hello.pen);
      if (!hello.pen) take(hello);
      else if (hello.saved !== saved) talk.handlers.text(hello); // the file was written meanwhile
    }
  };
  talk.onclose = () => { $("gone").hidden = false; };
  talk.handlers = {
    held: (found) => { read(found); glance = found; unread = null; follow(); ask(); redraw(); },
    unread: (found) => { read(found); unread = found; redraw(); },
    checked: (found) => { shown = found; glance = found.states[0] && { ...glance, version: found.version }; mended = null; names(); redraw(); if (unplaced) moved(text.at()); },
    picture: (found) => { drawn(found); redraw(); },
    mends: ({ lines, number: of }) => {
      if (!shown || shown.number !== of) return;
      for (const [place, line] of Object.entries(lines)) if (shown.findings[place]) shown.findings[place].lines = [line];
      notes();
    },
    undrawn: (found) => { announce(say("not-drawn", found), "bad"); },
    broke: (found) => { announce(say("broke", found), "bad"); },
    text: (found) => {
      const asks = text && pen && unsaved() && found.text !== text.text; // a key was on its way when the file changed
      if (asks) conflict(found.text); else take(found);
    },
    saved: (found) => { saved = found.saved; savedText = text.text; keptWords(); },
    disk: (found) => conflict(found.there),
    pen: ({ writer }) => { if (text) penIs(writer === tab); },
    number: (found) => { own.number = found.number; stale(); }, // the text is as it was, a file that it includes is not
  };
  talk.connect();

  function opened(hello) {
    let kept = null;
    try { kept = JSON.parse(sessionStorage.getItem(KEPT)); } catch { /* nothing was kept */ }
    pen = hello.pen;
    saved = hello.saved;
    const mine = kept && pen && kept.uri === hello.uri && kept.saved === hello.saved;
    const first = mine ? kept.state.doc : hello.text;
    savedText = mine && kept.savedText !== undefined ? kept.savedText : hello.unsaved ? null : hello.text;
    text = new Text($("editor"), talk, hello.uri, {
      typed: () => { keptWords(); stale(); },
      keep,
      moved,
      marked: notes,
      save,
      blanks: (any) => { if ($("next-blank")) $("next-blank").disabled = !any; },
    });
    text.open(first, mine ? kept.state : null);
    if (first === hello.text) own = { number: hello.number, version: text.version };
    penIs(pen);
    redraw();
    text.focus();
    if (first.startsWith(data.blank)) text.select(data.blank.indexOf('"') + 1, data.blank.lastIndexOf('"'));
  }

  function keep() {
    try {
      sessionStorage.setItem(KEPT, JSON.stringify({ uri: text.uri, saved, savedText, state: text.kept() }));
    } catch { sessionStorage.removeItem(KEPT); }
  }
  addEventListener("pagehide", () => text && keep());
  addEventListener("beforeunload", (event) => { if (text && pen && unsaved() && !talk.open) event.preventDefault(); });

  function penIs(mine) {
    pen = mine;
    text.writable(mine);
    document.body.classList.toggle("following", !mine);
    $("follows").hidden = mine;
    for (const one of document.querySelectorAll("#palette button, #tools button, #save, #papers")) {
      if (one.id !== "next-blank") one.disabled = !mine;
    }
  }
  $("take")?.addEventListener("click", async () => {
    const hello = await talk.ask("pen");
    take(hello);
    penIs(hello.pen);
    text.focus();
  });

  /** The text was written elsewhere: on the disk, or by who has the pen. */
  function take(found) {
    if (!text) return;
    text.replace(found.text);
    text.sync(); // what is found of it may be the very next message
    own = { number: found.number, version: text.version };
    if (found.saved !== undefined && found.saved !== saved) { saved = found.saved; savedText = found.unsaved ? null : found.text; }
    keptWords();
    stale();
  }

  /** A text was read; where the desk says so, it is the page's own. */
  function read(found) {
    number = found.number;
    if (found.version !== null && found.version === text?.version) own = { number, version: found.version };
  }

  /** Is this of the page's text, as it stands there now? */
  const isOwn = (found) => text !== null && text.version !== null && text.version === own.version && found.number === own.number;

  // -- saving

  const unsaved = () => savedText === null || text.text !== savedText;

  function keptWords() {
    if (!$("kept")) return;
    const open = unsaved();
    $("kept").textContent = say(open ? "unsaved" : "saved");
    $("kept").className = open ? "open" : "";
    document.title = `${open ? "• " : ""}${glance?.title || shown?.title || $("state").firstElementChild.textContent}`;
  }

  async function save() {
    if (!pen) return false;
    const now = text.text;
    try {
      const done = await talk.ask("save", { text: now, following: saved });
      if (done.saved === null) { conflict(done.there, done.digest); return false; }
      saved = done.saved;
      savedText = now;
      keptWords();
      keep();
      announce(say("saved-as", { file: $("state").firstElementChild.textContent }));
      return true;
    } catch (error) {
      announce(say("save-failed", { why: error.message }), "bad");
      return false;
    }
  }
  $("save")?.addEventListener("click", async () => { await save(); });
  addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key === "s") { event.preventDefault(); if (!text?.view.hasFocus) save(); }
    if (event.altKey && event.key === "1") { side("text"); text.focus(); event.preventDefault(); }
    if (event.altKey && event.key === "2") { side("picture"); picture.focus(); event.preventDefault(); }
  });

  let theirs = { text: null, digest: "" };
  function conflict(there, digest) {
    if (!pen || (there !== null && there === text.text && digest === undefined)) return;
    theirs = { text: there, digest };
    $("changed-how").textContent = say(there === null ? "changed-gone" : "changed-how");
    $("take-theirs").hidden = there === null;
    compared($("versions"), there ?? "", text.text);
    if (!$("changed").open) $("changed").showModal();
  }
  $("take-theirs")?.addEventListener("click", async () => {
    const now = await talk.ask("reread");
    saved = now.saved;
    savedText = now.text;
    text.replace(now.text);
    keptWords();
    $("changed").close();
  });
  $("keep-mine")?.addEventListener("click", async () => {
    const now = text.text;
    const first = await talk.ask("save", { text: now, following: saved });
    const done = first.saved === null ? await talk.ask("save", { text: now, following: first.digest }) : first;
    if (done.saved === null) return conflict(done.there, done.digest);
    saved = done.saved;
    savedText = now;
    keptWords();
    $("changed").close();
  });
  $("decide-later")?.addEventListener("click", () => $("changed").close());
  $("changed").addEventListener("close", () => $("versions").replaceChildren());

  // -- who is held, and by what

  const bodiesOf = () => shown?.states[state]?.bodies ?? [];
  const fresh = () => shown && shown.number === number && !unread;

  function follow() { // what a newer text no longer has is let go
    if (!shown) return;
    state = Math.min(state, shown.states.length - 1);
  }

  function rows() {
    const told = bodiesOf();
    if (answer) return told.map((one) => ({ ...one, fate: answer.fates[one.name] ?? one.fate, next: answer.next[one.name] }));
    if (fresh() || state || !glance?.bodies) return told;
    return glance.bodies.map((one) => ({ ...(told.find((old) => old.name === one.name) ?? {}), ...one, older: true }));
  }

  function head(all) {
    if (!all.length) return glance || shown ? say("nobody") : say("being-checked");
    const worst = ORDER.find((fate) => all.some((one) => one.fate === fate));
    const prefix = answer ? `${say("if-failed", { failures: listed(answer.failed, 3) })} ` : "";
    const accepted = answer ? [] : all.filter((one) => one.alone?.length).map((one) => one.name);
    if (worst === "held") {
      if (answer) return prefix + say("if-held");
      const shaken = all.filter((one) => one.shaken).map((one) => one.name);
      const held = accepted.length ? say("all-held-but", { names: listed(accepted, 5) }) : say("all-held");
      return shaken.length ? `${held} ${say("shaken", { count: shaken.length, names: listed(shaken, 5) })}` : held;
    }
    const hit = all.filter((one) => one.fate === worst).map((one) => one.name);
    return prefix + say(`${answer ? "if" : "head"}-${worst}`, { count: hit.length, names: listed(hit, 5) });
  }

  function bodyRow(one) {
    const row = make("li", "", `fate-${one.fate}`);
    row.append(make("b", [make("bdi", one.name)]), make("span", say(`${answer ? "then" : "fate"}-${one.fate}`), "word"));
    const more = make("div", "", one.older ? "older" : "");
    if (answer) {
      if (one.next?.length && one.fate === "one") more.append(make("p", say("falls-if", { failures: either(one.next, 3) })));
    } else {
      const number = one.independent;
      if (number !== null && number !== undefined && !NOT_HELD.includes(one.fate)) {
        more.append(make("p", say(one.exact ? "independent" : "independent-least", { number }), "count"));
      }
      if (one.alone?.length) more.append(make("p", say("falls-if", { failures: either(one.alone, 3) }), "alone"));
      if (one.by?.length && !NOT_HELD.includes(one.fate)) {
        const rest = one.by.length - 1;
        const way = make("p", say("by", { way: one.by[0] }), "by");
        if (rest) way.append(" ", make("small", say("more-ways", { count: rest }), "", { title: one.by.slice(1).join("\n") }));
        more.append(way);
      }
    }
    row.append(more);
    return row;
  }

  function redraw() {
    if (!text) return;
    const all = [...rows()].sort((a, b) => ORDER.indexOf(a.fate) - ORDER.indexOf(b.fate));
    $("title").textContent = glance?.title ?? shown?.title ?? $("title").textContent;
    const words = unread ? `${say("mistakes", { count: unread.mistakes.length })}: ${say("line", { line: unread.mistakes[0].line })}, ${unread.mistakes[0].text}` : head(all);
    if ($("head").textContent !== words) $("head").textContent = words;
    $("head").className = unread ? "unread" : all.some((one) => one.fate === "tips" || NOT_HELD.includes(one.fate)) ? "bad" : "";
    $("held").classList.toggle("what-if", Boolean(answer));
    $("held").classList.toggle("stale", Boolean(unread));
    $("bodies").replaceChildren(...all.map(bodyRow));
    const closing = shown?.closing[data.language] ?? "";
    const drop = all.length ? say("if-drop") : "";
    $("closing").textContent = answer ? drop : fresh() ? `${closing}. ${drop}` : unread && closing ? say("of-before", { closing }) : say("being-checked");
    $("closing").classList.toggle("not", Boolean(shown && !shown.met && !answer));
    $("held").dataset.number = glance?.number ?? "";
    $("held").dataset.checked = fresh() ? shown.number : "";
    stale();
    marks();
    strip();
    tray();
    notes();
    lines();
    keptWords();
  }

  // -- the picture

  let drawing = null;
  function drawn(found) {
    const same = drawing?.svg === found.svg && picture.svg;
    drawing = found;
    if (shown && !same) put();
  }

  function put() {
    if (Object.keys(shown.parts).length) picture.show(drawing, shown.parts);
    else picture.clear(make("p", say("no-picture")));
  }

  /** The last good picture stays, and says so, until that of the page's text is there. */
  function stale() {
    const older = Boolean(drawing) && (unread || !isOwn(drawing));
    const waiting = older && !unread;
    $("sheet").classList.toggle("older", older && (Boolean(unread) || !waiting));
    $("sheet").classList.toggle("waiting", waiting);
    $("older").textContent = !older ? "" : unread ? say("older-line", { line: unread.mistakes[0].line }) : say("older");
  }

  const modeOf = (failure) => Object.keys(WORD_OF_MODE).find((mode) => failure.endsWith(` ${mode}`)) ?? "fails";
  let partOf = {};
  function names() {
    partOf = {};
    for (const [name, one] of Object.entries(shown.parts)) for (const failure of one.failures) partOf[failure] = name;
    const known = $("part-names");
    known.replaceChildren(...Object.keys(shown.parts).filter((name) => shown.parts[name].failures.length || picture.things.has(name)).map((name) => make("option", "", "", { value: name })));
    if (drawing && !picture.svg) put();
  }

  function marks() {
    if (!shown || !drawing) return;
    const found = {};
    const all = bodiesOf();
    const isBody = new Set(all.map((one) => one.name));
    const now = answer ? { fates: answer.fates, next: answer.next } : null;
    const singles = new Set(all.flatMap((one) => (now ? now.next[one.name] ?? [] : one.alone ?? [])));
    for (const failure of singles) {
      const part = partOf[failure];
      if (part && !isBody.has(part)) found[part] = [say("mark-single"), "single"];
    }
    for (const failure of failed) {
      const part = partOf[failure];
      if (part && !isBody.has(part)) found[part] = [WORD_OF_MODE[modeOf(failure)], "failed"];
    }
    for (const one of rows()) {
      const fate = one.fate;
      let word = say(fate === "falls" && answer ? "mark-if-falls" : `mark-${fate}`);
      if (fate === "held" && !answer && one.independent !== null && one.independent !== undefined) {
        word = say(one.exact ? "independent" : "independent-least", { number: one.independent });
      }
      found[one.name] = [word, SHOWN_AS[fate] ?? fate];
    }
    picture.at(state);
    const held = Object.fromEntries(rows().map((one) => [one.name, (answer ? answer.in_picture[one.name] : one.in_picture) ?? []]));
    picture.mark(found, held, (name, word) => [name, shown.parts[name]?.kind, word].filter(Boolean).join(", "));
    if (chosen) picture.light([chosen], false);
  }

  /** A part was pressed in the picture: its line is shown; or it is to fail. */
  function pressed(name, how, event) {
    if (how === "none") { failed = []; ask(); redraw(); return; }
    if (how === "drop") {
      const under = document.elementFromPoint(event.clientX, event.clientY);
      if (under?.closest("#whatif, #held")) { chosen = name; toggle(name); }
      return;
    }
    choose(name, true);
    if (how === "fail") toggle(name);
  }

  function choose(name, show) {
    const line = shown?.parts[name]?.line;
    if (show && line) text.go(line, false, name);
    chosen = name; // after the cursor has moved: other parts may stand on its line
    unplaced = false;
    picture.light([name], false);
    lines();
    tray();
  }

  const possible = (name) => (shown?.parts[name]?.failures ?? []).filter((one) => shown.states[state].possible.includes(one));

  function toggle(name) {
    const mine = failed.filter((one) => partOf[one] === name);
    const all = possible(name);
    if (mine.length) failed = failed.filter((one) => partOf[one] !== name);
    else if (all.length) fail(all.find((one) => modeOf(one) === "fails") ?? all[0]);
    ask();
    redraw();
  }

  function fail(failure) {
    failed = failed.filter((one) => one !== failure);
    failed.push(failure);
    if (failed.length > 4) failed.shift();
  }

  let asked = 0;
  async function ask() {
    const mine = ++asked;
    if (!failed.length) { answer = null; return; }
    try {
      const found = await talk.ask("whatif", { number, state, failures: failed });
      if (mine !== asked) return;
      answer = found;
      if (found) failed = found.failed;
    } catch { if (mine === asked) answer = null; }
    redraw();
  }

  function tray() {
    $("failed").replaceChildren(...failed.map((failure) => make("li", [make("span", failure),
      button("✕", () => { failed = failed.filter((one) => one !== failure); ask(); redraw(); }, "", { "aria-label": say("undo-failure", { failure }) })])));
    if (failed.length) $("failed").append(make("li", [button(say("nothing-failed"), () => { failed = []; ask(); redraw(); }, "plain")]));
    const about = chosen && shown?.parts[chosen];
    $("chosen").textContent = about ? say("selected", { name: chosen, kind: about.kind }) : say("drop-here");
    const all = about ? possible(chosen) : [];
    $("modes").replaceChildren(...all.map((failure) => button(failure, () => {
      if (failed.includes(failure)) failed = failed.filter((one) => one !== failure);
      else fail(failure);
      ask();
      redraw();
    }, "", { "aria-pressed": failed.includes(failure) ? "true" : "false" })));
    if (about && !all.length) $("modes").append(make("span", say("nothing-fails"), "small"));
    $("in-full").hidden = !answer;
    if (answer && $("page").dataset.of !== JSON.stringify(answer.failed) + number) {
      $("page").dataset.of = JSON.stringify(answer.failed) + number;
      $("page").replaceChildren(...new DOMParser().parseFromString(answer.page, "text/html").body.childNodes);
    }
  }

  $("find").addEventListener("change", () => {
    const name = $("find").value.trim();
    if (!shown?.parts[name]) return;
    choose(name, true);
    picture.light([name]);
  });

  for (const [id, by] of [["smaller", 1 / 1.25], ["fit", 0], ["larger", 1.25]]) $(id).addEventListener("click", () => picture.resize(by));
  toolbar($("zoom"));

  // -- states

  function strip() {
    const bar = $("strip");
    const all = shown?.states ?? [];
    bar.hidden = $("state-words").hidden = all.length < 2;
    if (bar.hidden) return;
    if (bar.children.length !== all.length || bar.dataset.of !== String(shown.number)) {
      bar.dataset.of = String(shown.number);
      const focused = bar.contains(document.activeElement);
      bar.replaceChildren(...all.map((one) => {
        const falls = one.bodies.some((body) => NOT_HELD.includes(body.fate));
        const words = [one.number ? `${one.number}. ${one.step}` : say("as-first"), falls ? say("state-falls") : one.broken ? say("state-broken") : ""].filter(Boolean).join(": ");
        return button(one.number ? String(one.number) : say("state-first"), () => go(one.number, true),
          falls ? "falls" : one.broken ? "broken" : "", { title: words, "aria-label": words, tabindex: one.number === state ? "0" : "-1" });
      }));
      if (focused) bar.children[state]?.focus();
    }
    const now = all[state];
    const where = state ? say("state-words", { number: state, last: all.length - 1, stage: now.stage }) : say("as-first");
    const falls = now.bodies.some((body) => NOT_HELD.includes(body.fate));
    $("state-words").replaceChildren(where, state ? make("bdi", `: ${now.step}`) : "",
      make("b", falls ? ` – ${say("state-falls")}` : now.broken ? ` – ${say("state-broken")}` : ""));
    [...bar.children].forEach((one, k) => { one.setAttribute("aria-pressed", k === state ? "true" : "false"); one.tabIndex = k === state ? 0 : -1; });
  }
  toolbar($("strip"));

  function go(to, show) {
    if (to === state) return;
    state = to;
    ask();
    redraw();
    const line = shown.states[state].line;
    if (show && state && line) text.go(line, false);
    const now = $("strip").children[state];
    now?.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  // -- text and picture are one

  let unplaced = false; // the cursor moved in a text whose lines are not known yet
  function moved({ line, word }) {
    if (!shown || !text) return;
    const known = fresh() && isOwn(shown);
    unplaced = !known;
    const name = partAt(known ? line : -1, word);
    if (name) { chosen = name; picture.light(lightOf(name), document.activeElement?.closest?.("#editor") !== null); tray(); }
    const step = shown.states.find((one) => one.number && one.line === line);
    if (step && known) go(step.number, false);
    lines();
  }

  function lightOf(name) {
    if (picture.things.has(name)) return [name];
    return Object.keys(shown.parts).filter((one) => one.startsWith(`${name}[`));
  }

  function partAt(line, word) {
    if (shown.parts[word]) return word;
    const body = word.split(".")[0];
    if (shown.parts[body]) return body;
    if (Object.keys(shown.parts).some((one) => one.startsWith(`${word}[`))) return word;
    return Object.keys(shown.parts).find((name) => shown.parts[name].line === line && picture.things.has(name)) ?? null;
  }

  function lines() {
    if (!text) return;
    const found = [];
    const now = shown?.states[state];
    if (now && state && fresh()) found.push([now.line, "step"]);
    const part = shown?.parts[chosen];
    if (part?.line && fresh()) found.push([part.line, "part"]);
    const key = JSON.stringify(found);
    if (key !== lines.last) { lines.last = key; queueMicrotask(() => text.light(found)); }
  }

  // -- what is worth a look

  function notes() {
    if (!text) return;
    const box = $("notes");
    const errors = text.lintMarks.filter((one) => one.severity === "error");
    const parts = [];
    if (unread) {
      parts.push(make("h2", say("mistakes", { count: unread.mistakes.length })));
      parts.push(make("ul", unread.mistakes.slice(0, 30).map((one) => note(one.line, one.text, one.help, "mistake", fixesAt(errors, one)))));
    }
    if (shown && !unread) {
      const found = shown.findings;
      parts.push(make("h2", say("worth-a-look")));
      if (!found.length) parts.push(make("p", say("nothing-found"), "small"));
      parts.push(make("ul", found.map((one) => note(one.line, one.text, one.accepted ? say("accepted", { why: one.accepted }) : one.mend ?? "", one.severity, mendsOf(one), say(one.severity)))));
      parts.push(make("h2", say(shown.requirements.some((one) => one.assumed) ? "required-house" : "required")));
      parts.push(make("ul", shown.requirements.map((one) => note(one.line, one.text, one.because.join("; "), one.met ? "met" : "not-met", [], say(one.met ? "met" : one.met === null ? "not-checked" : "not-met")))));
      if (pen && shown.states.some((one) => one.bodies.some((body) => body.fate !== "held"))) parts.push(mendBox());
    }
    const key = JSON.stringify([parts.map((one) => one.outerHTML), mended]);
    if (key === notes.last) return;
    notes.last = key;
    const focused = box.contains(document.activeElement) ? document.activeElement.textContent : null;
    box.replaceChildren(...parts);
    if (focused) [...box.querySelectorAll("button")].find((one) => one.textContent === focused)?.focus();
  }

  function note(line, words, more, look, buttons, word = "") {
    const row = make("li", "", look);
    if (line) row.append(button(say("line", { line }), () => { side("text"); text.go(line); }, "line"), " ");
    if (word) row.append(make("b", word), " ");
    row.append(make("span", words, "", { lang: "en" }));
    if (more) row.append(make("p", more, "small", { lang: "en" }));
    if (buttons.length) row.append(make("p", buttons, "mends"));
    return row;
  }

  function fixesAt(errors, mistake) {
    return text.fixes.filter((fix) => fix.mark.told.range.start.line + 1 === mistake.line)
      .map((fix) => button(say("mend-this", { text: fix.title }), () => text.fix(fix), "mend"));
  }

  function mendsOf(finding) {
    return (pen ? finding.lines ?? [] : []).map((one) =>
      button(say("mend-this", { text: one.text }), () => text.insert(one.after, [one.text], { blanks: false }), "mend"));
  }

  function mendBox() {
    const box = make("div", "", "mend-most");
    if (mended === null) box.append(button(say("mend-most"), mendMost, "mend"));
    else if (mended === "looking") box.append(make("p", say("mending"), "small"));
    else {
      box.append(make("h2", say("mend-most")));
      if (!mended.mends.length) box.append(make("p", mended.why || say("no-mend"), "small"));
      for (const one of mended.mends) {
        const lines = [...one.change.map((change) => change.text), ...one.add];
        box.append(make("div", [make("p", one.what, "", { lang: "en" }), make("p", one.does, "small", { lang: "en" }), make("pre", lines.join("\n")),
          button(say("put-in"), () => { text.change(one.change, one.add); mended = null; }, "mend")], "proposal"));
      }
    }
    return box;
  }

  async function mendMost() {
    mended = "looking";
    notes();
    const of = number;
    try {
      const found = await talk.ask("mends", { text: text.text });
      mended = of === number ? found : null;
    } catch (error) { mended = { mends: [], why: error.message }; }
    notes();
    document.querySelector(".mend-most")?.scrollIntoView({ block: "start" });
  }

  // -- the palette, the tools, the papers

  $("palette")?.addEventListener("click", async (event) => {
    const item = event.target.closest("button[data-item]")?.dataset.item;
    if (!item) return;
    text.sync();
    const all = await talk.ask("palette", { text: text.text, line: text.at().line });
    const one = all.find((other) => other.item === item);
    text.insert(one.after, one.lines, one);
    const blanks = one.lines.join("").split("${").length - 1;
    announce(say(one.also?.length ? "added-over" : blanks > 1 ? "added" : "added-one", { item: say(`item-${item}`) }));
  });
  if ($("palette")) toolbar($("palette"));
  if ($("tools")) {
    toolbar($("tools"));
    $("undo").addEventListener("click", () => text.undo());
    $("redo").addEventListener("click", () => text.redo());
    $("lay-out").addEventListener("click", () => text.layOut());
    $("next-blank").addEventListener("click", () => text.nextBlank());
  }

  function menu(open) {
    $("papers-list").hidden = !open;
    $("papers").setAttribute("aria-expanded", String(open));
    if (open) $("papers-list").querySelector("button").focus();
  }
  $("papers")?.addEventListener("click", () => menu($("papers-list").hidden));
  document.querySelector(".menu")?.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { menu(false); $("papers").focus(); }
  });
  document.querySelector(".menu")?.addEventListener("focusout", (event) => {
    if (!event.currentTarget.contains(event.relatedTarget)) menu(false);
  });
  $("papers-list")?.addEventListener("click", async (event) => {
    const which = event.target.closest("button[data-paper]")?.dataset.paper;
    if (!which) return;
    menu(false);
    $("papers").focus();
    const paper = say(`paper-${which}`);
    if (unsaved() && !(await save())) return;
    announce(say("paper-being-made", { paper }), "bad");
    try {
      const made = await talk.ask("paper", { which, language: data.language });
      const words = say("paper-made", { paper, file: made.file, folder: decodeURIComponent(new URL(".", text.uri).pathname) });
      const open = make("a", say("paper-open"), "", { href: made.at, target: "_blank", rel: "noopener" });
      announce([words, " ", open]);
      clearTimeout(announce.timer); // it stays until it is pressed
    } catch (error) { announce(say("paper-failed", { paper, why: error.message }), "bad"); }
  });

  $("keys-open").addEventListener("click", () => $("keys").showModal());

  // -- narrow: the text or the picture

  function side(which) {
    $("both").dataset.side = which;
    for (const one of ["text", "picture"]) {
      $(`tab-${one}`).setAttribute("aria-selected", String(one === which));
      $(`tab-${one}`).tabIndex = one === which ? 0 : -1;
    }
    picture.size();
  }
  side("text");
  for (const one of ["text", "picture"]) $(`tab-${one}`).addEventListener("click", () => side(one));
  $("tabs").addEventListener("keydown", (event) => {
    if (!["ArrowLeft", "ArrowRight"].includes(event.key)) return;
    const other = $("both").dataset.side === "text" ? "picture" : "text";
    side(other);
    $(`tab-${other}`).focus();
  });
}
