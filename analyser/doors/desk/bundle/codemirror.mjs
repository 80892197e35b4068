// What the desk takes of CodeMirror 6, in one module.
export { Annotation, Compartment, EditorSelection, EditorState, Prec, RangeSetBuilder, StateEffect, StateField, Transaction } from "@codemirror/state";
export { Decoration, EditorView, GutterMarker, ViewPlugin, crosshairCursor, drawSelection, gutter, highlightActiveLine,
  highlightActiveLineGutter, keymap, lineNumbers, placeholder, tooltips } from "@codemirror/view";
export { defaultKeymap, history, historyField, historyKeymap, isolateHistory, redo, undo } from "@codemirror/commands";
export { indentUnit } from "@codemirror/language";
export { acceptCompletion, autocompletion, clearSnippet, closeCompletion, completionKeymap, completionStatus,
  hasNextSnippetField, hasPrevSnippetField, nextSnippetField, prevSnippetField, snippet, snippetKeymap, startCompletion } from "@codemirror/autocomplete";
export { diagnosticCount, forEachDiagnostic, lintGutter, lintKeymap, nextDiagnostic, setDiagnostics } from "@codemirror/lint";
export { highlightSelectionMatches, search, searchKeymap } from "@codemirror/search";
export { LSPClient, LSPPlugin, findReferencesKeymap, formatDocument, hoverTooltips, jumpToDefinitionKeymap,
  renameSymbol, serverCompletionSource } from "@codemirror/lsp-client";
export { MergeView, unifiedMergeView } from "@codemirror/merge";
