// The text: an editor that speaks to the project's own language server for everything it knows of the language.
import * as cm from "./codemirror.js";
import { data, say } from "./words.js";

const SYNC_AFTER = 5; // ms without a key before a text is handed over
const COLOUR_AFTER = 90; // what is new is plain until then: who is held comes first
const KEPT_AFTER = 400;
const KINDS = ["comment", "string", "keyword", "type", "variable", "property", "number", "enumMember"];
const GERMAN = {
  "Find": "Suchen", "Replace": "Ersetzen", "next": "weiter", "previous": "zurück", "all": "alle", "match case": "Groß/klein",
  "by word": "ganze Wörter", "regexp": "Muster", "replace": "ersetzen", "replace all": "alle ersetzen", "close": "schließen",
  "Rename to": "Umbenennen in", "Rename": "Umbenennen", "New name": "Neuer Name", "rename": "umbenennen",
  "No diagnostics": "Nichts gefunden", "Completions": "Was folgen kann", "Diagnostics": "Befunde",
  "Control character": "Steuerzeichen", "Selection deleted": "Auswahl gelöscht", "Go to line": "Zu Zeile", "go": "gehen",
};

// -- lines and pieces that are lit

const lightLines = cm.StateEffect.define();
const lit = cm.StateField.define({
  create: () => cm.Decoration.none,
  update(marks, change) {
    marks = marks.map(change.changes);
    for (const effect of change.effects) {
      if (!effect.is(lightLines)) continue;
      const found = effect.value
        .filter(([line]) => line >= 1 && line <= change.state.doc.lines)
        .map(([line, look]) => cm.Decoration.line({ class: `lit-${look}` }).range(change.state.doc.line(line).from));
      marks = cm.Decoration.set(found, true);
    }
    return marks;
  },
  provide: (field) => cm.EditorView.decorations.from(field),
});

// -- colours, as the server says what each piece is

const colour = cm.StateEffect.define();
const coloured = cm.StateField.define({
  create: () => cm.Decoration.none,
  update(marks, change) {
    for (const effect of change.effects) if (effect.is(colour)) return effect.value;
    return marks.map(change.changes);
  },
  provide: (field) => cm.EditorView.decorations.from(field),
});
const MARKS = KINDS.map((kind) => cm.Decoration.mark({ class: `is-${kind}` }));

function unpacked(doc, packed) {
  const found = [];
  let line = 0, at = 0;
  for (let k = 0; k < packed.length; k += 5) {
    if (packed[k]) at = 0;
    line += packed[k];
    at += packed[k + 1];
    if (line >= doc.lines) break;
    const from = doc.line(line + 1).from + at;
    const to = from + packed[k + 2];
    if (to <= doc.length && to > from && MARKS[packed[k + 3]]) found.push(MARKS[packed[k + 3]].range(from, to));
  }
  return cm.Decoration.set(found);
}

/** What the server writes about a place, as elements: our own Markdown has few of them, and anything else is words. */
function harmless(html) {
  const allowed = new Set(["P", "STRONG", "EM", "CODE", "PRE", "UL", "OL", "LI", "BR", "HR", "BLOCKQUOTE"]);
  const parsed = new DOMParser().parseFromString(html, "text/html").body;
  for (const one of [...parsed.querySelectorAll("*")].reverse()) {
    for (const attribute of [...one.attributes]) one.removeAttribute(attribute.name);
    if (!allowed.has(one.tagName)) one.replaceWith(...one.childNodes);
  }
  return parsed.innerHTML;
}

const severityOf = { 1: "error", 2: "warning", 3: "info", 4: "hint" };

export class Text {
  /** `on` is called for what happens here: `typed()`, `moved(line, word)`, `marked()`, `save()`, `blanks(any)`. */
  constructor(host, talk, uri, on) {
    Object.assign(this, { host, talk, uri, on });
    this.lintMarks = [];
    this.fixes = [];
    this.readOnly = new cm.Compartment();
    this.client = new cm.LSPClient({
      timeout: 20_000,
      sanitizeHTML: harmless,
      notificationHandlers: { "textDocument/publishDiagnostics": (_, params) => this.marked(params) },
      extensions: [{ clientCapabilities: { textDocument: {
        semanticTokens: { requests: { full: true }, tokenTypes: KINDS, tokenModifiers: [], formats: ["relative"] },
        codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: ["quickfix"] } } },
        publishDiagnostics: { versionSupport: true },
      } } }],
    });
  }

  extensions() {
    const own = cm.keymap.of([
      { key: "Mod-s", preventDefault: true, run: () => (this.on.save(), true) },
      { key: "Shift-Alt-f", preventDefault: true, run: () => (this.layOut(), true) },
      { key: "F2", run: cm.renameSymbol, preventDefault: true },
      { key: "F8", run: cm.nextDiagnostic, preventDefault: true },
      ...cm.jumpToDefinitionKeymap,
      ...cm.findReferencesKeymap,
    ]);
    return [
      cm.EditorView.cspNonce.of(data.nonce),
      cm.lineNumbers(),
      cm.highlightActiveLineGutter(),
      cm.highlightActiveLine(),
      cm.drawSelection(),
      cm.history({ newGroupDelay: 400 }),
      cm.indentUnit.of("    "),
      cm.EditorState.tabSize.of(4),
      cm.EditorView.lineWrapping,
      cm.EditorView.contentAttributes.of({ "aria-label": say("text"), tabindex: "0", lang: "en", spellcheck: "false", autocapitalize: "off", autocorrect: "off" }),
      data.language === "de" ? cm.EditorState.phrases.of(GERMAN) : [],
      cm.autocompletion({ override: [(context) => this.blank(context), (context) => this.followed(context)], icons: false, maxRenderedOptions: 200 }),
      cm.hoverTooltips({ hoverTime: 350 }),
      cm.lintGutter(),
      cm.search({ top: true }),
      cm.highlightSelectionMatches({ minSelectionLength: 3 }),
      own,
      cm.keymap.of([...cm.completionKeymap, ...cm.searchKeymap, ...cm.historyKeymap, ...cm.lintKeymap, ...cm.defaultKeymap]),
      this.readOnly.of([]),
      lit,
      coloured,
      this.client.plugin(this.uri, "rig"),
      cm.EditorView.updateListener.of((update) => this.updated(update)),
    ];
  }

  /** Put a text up; `kept` is the state that this tab had before it was loaded again, with what can be undone. */
  open(text, kept) {
    const fields = { history: cm.historyField };
    let state = null;
    if (kept && kept.doc === text) {
      try {
        state = cm.EditorState.fromJSON(kept, { extensions: this.extensions() }, fields);
      } catch { /* kept by an older page: the text is there all the same */ }
    }
    state ??= cm.EditorState.create({ doc: text, extensions: this.extensions() });
    this.view = new cm.EditorView({ state, parent: this.host });
    this.client.connect(this.talk.transport);
    this.recolour();
  }

  /** The conversation has begun anew. */
  reconnect() {
    this.client.disconnect();
    this.client.connect(this.talk.transport);
    this.recolour();
  }

  writable(can) {
    this.view.dispatch({ effects: this.readOnly.reconfigure(can ? [] : cm.EditorState.readOnly.of(true)) });
  }

  get text() {
    return this.view.state.doc.toString();
  }

  /** The version of the text that was last handed over; null while there is a newer one here. */
  get version() {
    const file = this.client.workspace.getFile(this.uri);
    return file && file.doc.eq(this.view.state.doc) ? file.version : null;
  }

  kept() {
    return this.view.state.toJSON({ history: cm.historyField });
  }

  updated(update) {
    const blanks = cm.hasNextSnippetField(update.state) || cm.hasPrevSnippetField(update.state);
    const before = this.blanks;
    if (blanks !== before) this.on.blanks((this.blanks = blanks));
    if (update.docChanged) {
      clearTimeout(this.syncing);
      this.syncing = setTimeout(() => this.sync(), SYNC_AFTER);
      clearTimeout(this.keeping);
      this.keeping = setTimeout(() => this.on.keep(), KEPT_AFTER);
      this.recolour();
      this.on.typed();
    }
    if (update.docChanged || update.selectionSet) this.on.moved(this.at());
    if (update.selectionSet && (blanks || before) && !update.state.selection.main.empty) setTimeout(() => cm.startCompletion(this.view), 0);
  }

  sync() {
    if (this.talk.open) this.client.sync();
  }

  at() {
    const { state } = this.view;
    const head = state.selection.main.head;
    const line = state.doc.lineAt(head);
    const words = [...line.text.matchAll(/[\w-]+(?:\.[\w-]+)?/g)];
    const word = words.find((one) => one.index <= head - line.from && head - line.from <= one.index + one[0].length);
    return { line: line.number, word: word ? word[0] : "" };
  }

  recolour() {
    clearTimeout(this.colouring);
    this.colouring = setTimeout(async () => {
      if (!this.talk.open) return;
      this.client.sync();
      const doc = this.view.state.doc;
      try {
        const found = await this.client.request("textDocument/semanticTokens/full", { textDocument: { uri: this.uri } });
        if (found && this.view.state.doc === doc) this.view.dispatch({ effects: colour.of(unpacked(doc, found.data)) });
      } catch { /* the next key asks again */ }
    }, COLOUR_AFTER);
  }

  /** What may stand in a blank that is selected, by what stands in it. */
  async blank(context) {
    const { main } = context.state.selection;
    if (main.empty || context.state.doc.lineAt(main.from).number !== context.state.doc.lineAt(main.to).number) return null;
    const plugin = cm.LSPPlugin.get(this.view);
    this.client.sync();
    const found = await this.talk.ask("blank", { position: plugin.toPosition(main.from), now: context.state.sliceDoc(main.from, main.to) });
    if (!found?.length) return null;
    return { from: main.from, to: main.to, filter: false, options: found.map((one) => ({ label: one.text, detail: one.about })) };
  }

  /** What may follow the cursor; of what is selected the blank tells. */
  followed(context) {
    return context.state.selection.main.empty ? cm.serverCompletionSource(context) : null;
  }

  // -- what is marked

  marked(params) {
    const file = this.client.workspace.getFile(params.uri);
    if (!file || (params.version != null && params.version !== file.version)) return true;
    const plugin = cm.LSPPlugin.get(this.view);
    const at = (position) => plugin.unsyncedChanges.mapPos(plugin.fromPosition(position, plugin.syncedDoc));
    const inside = (one) => one.range.end.line < plugin.syncedDoc.lines;
    this.lintMarks = params.diagnostics.filter(inside).map((one) => ({ from: at(one.range.start), to: at(one.range.end),
      severity: severityOf[one.severity ?? 1], message: one.message, told: one }));
    this.fixes = [];
    this.mark();
    clearTimeout(this.mending);
    if (this.lintMarks.some((one) => one.severity === "error")) this.mending = setTimeout(() => this.fetchFixes(), 250);
    return true;
  }

  mark() {
    const actions = (mark) => this.fixes.filter((fix) => fix.mark === mark)
      .map((fix) => ({ name: fix.title, apply: () => this.fix(fix) }));
    this.view.dispatch(cm.setDiagnostics(this.view.state, this.lintMarks.map((one) => ({ ...one, actions: actions(one) }))));
    this.on.marked();
  }

  /** What the server would write in the place of what can't be read. */
  async fetchFixes() {
    const doc = this.view.state.doc;
    const fixes = [];
    for (const mark of this.lintMarks.filter((one) => one.severity === "error").slice(0, 6)) {
      try {
        const found = await this.client.request("textDocument/codeAction", { textDocument: { uri: this.uri },
          range: mark.told.range, context: { diagnostics: [mark.told] } });
        for (const one of found ?? []) {
          const edits = one.edit?.changes?.[this.uri];
          if (edits && one.diagnostics?.length) fixes.push({ mark, title: one.title, edits });
        }
      } catch { return; }
    }
    if (this.view.state.doc !== doc || !fixes.length) return;
    this.fixes = fixes;
    this.mark();
  }

  fix(fix) {
    const { doc } = this.view.state;
    const place = ({ line, character }) => doc.line(line + 1).from + character;
    this.view.dispatch({
      changes: fix.edits.map((one) => ({ from: place(one.range.start), to: place(one.range.end), insert: one.newText })),
      userEvent: "input.mend",
      annotations: cm.isolateHistory.of("full"),
    });
    this.view.focus();
  }

  // -- what is put in

  /** Lines after a line (0: at the top), with `${…}` for blanks; the first blank is selected. `also`: lines without
   * blanks, each after a line of the text as it is. All of it is undone at once. */
  insert(after, lines, { blanks = true, also = [] } = {}) {
    const { doc } = this.view.state;
    const end = (line) => (line ? doc.line(Math.min(line, doc.lines)).to : 0);
    const words = (line, some) => (line ? `\n${some.join("\n")}` : `${some.join("\n")}\n`);
    const further = also.map((one) => ({ from: end(one.after), insert: words(one.after, one.lines) }));
    const added = { userEvent: "input.add", annotations: cm.isolateHistory.of("full") };
    cm.closeCompletion(this.view);
    cm.clearSnippet(this.view);
    if (blanks && lines.join("").includes("${")) {
      // an empty line first: a blank's lines would else be indented as the line before them is
      const empty = this.view.state.update({ changes: [{ from: end(after), insert: "\n" }, ...further] });
      const at = empty.changes.mapPos(end(after), -1) + (after ? 1 : 0);
      const dispatch = (filled) => this.view.dispatch({ ...added, changes: empty.changes.compose(filled.changes),
        selection: filled.newSelection, effects: filled.effects, scrollIntoView: true });
      cm.snippet(lines.join("\n"))({ state: empty.state, dispatch }, null, at, at);
      this.view.dispatch({ effects: cm.EditorView.scrollIntoView(this.view.state.selection.main, { y: "center" }) });
      setTimeout(() => cm.startCompletion(this.view), 0); // of a single blank too
    } else {
      const changes = this.view.state.changes([{ from: end(after), insert: words(after, lines) }, ...further]);
      const anchor = changes.mapPos(end(after), 1);
      this.view.dispatch({ ...added, changes, selection: { anchor }, effects: cm.EditorView.scrollIntoView(anchor, { y: "center" }) });
    }
    this.view.focus();
  }

  /** Lines changed as a proposal says it: a line becomes another, or gets one before or after it. */
  change(changes, added) {
    const { doc } = this.view.state;
    const edits = changes.filter((one) => one.line <= doc.lines).map((one) => {
      const line = doc.line(one.line);
      if (one.how === "becomes") return { from: line.from, to: line.to, insert: one.text };
      return one.how === "before" ? { from: line.from, insert: `${one.text}\n` } : { from: line.to, insert: `\n${one.text}` };
    });
    if (added.length) {
      const tail = doc.toString().endsWith("\n") ? "" : "\n";
      edits.push({ from: doc.length, insert: `${tail}${added.join("\n")}\n` });
    }
    this.view.dispatch({ changes: edits, userEvent: "input.mend", annotations: cm.isolateHistory.of("full") });
    this.view.focus();
  }

  replace(text) {
    const { doc } = this.view.state;
    const now = doc.toString();
    if (now === text) return;
    let from = 0, end = now.length, last = text.length;
    while (from < end && from < last && now[from] === text[from]) from += 1;
    while (end > from && last > from && now[end - 1] === text[last - 1]) end -= 1, last -= 1;
    this.view.dispatch({ changes: { from, to: end, insert: text.slice(from, last) }, annotations: cm.isolateHistory.of("full") });
  }

  layOut() {
    cm.formatDocument(this.view);
  }

  undo() { cm.undo(this.view); this.view.focus(); }
  redo() { cm.redo(this.view); this.view.focus(); }
  nextBlank() { cm.nextSnippetField(this.view); this.view.focus(); }

  // -- where one is

  light(lines) {
    this.view.dispatch({ effects: lightLines.of(lines) });
  }

  /** To a line: to a name in it, where one is given and stands there, else to its first word. */
  go(line, focus = true, name = "") {
    const { doc } = this.view.state;
    if (line < 1 || line > doc.lines) return;
    const at = doc.line(line);
    const named = name ? [...at.text.matchAll(/[\w-]+(?:\.[\w-]+)?/g)].find((one) => one[0] === name) : null;
    const start = at.from + (named ? named.index : at.text.length - at.text.trimStart().length);
    this.view.dispatch({ selection: { anchor: start }, effects: cm.EditorView.scrollIntoView(at.from, { y: "center" }) });
    if (focus) this.view.focus();
  }

  select(from, to) {
    this.view.dispatch({ selection: { anchor: from, head: to } });
  }

  focus() { this.view.focus(); }
}

/** Two versions of a text side by side; one above the other where there is little room. */
export function compared(host, theirs, mine) {
  host.replaceChildren();
  const common = [cm.EditorView.cspNonce.of(data.nonce), cm.lineNumbers(), cm.EditorState.readOnly.of(true), cm.EditorView.lineWrapping];
  if (matchMedia("(max-width: 48rem)").matches) {
    return new cm.EditorView({ parent: host, doc: mine, extensions: [...common, cm.unifiedMergeView({ original: theirs, mergeControls: false })] });
  }
  return new cm.MergeView({ parent: host, a: { doc: theirs, extensions: common }, b: { doc: mine, extensions: common },
    collapseUnchanged: { margin: 3, minSize: 6 } });
}
