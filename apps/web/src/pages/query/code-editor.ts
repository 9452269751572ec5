import type { Completion, CompletionContext, CompletionResult } from '@codemirror/autocomplete';
import { PostgreSQL, sql } from '@codemirror/lang-sql';
import { EditorState, Prec } from '@codemirror/state';
import { EditorView, keymap } from '@codemirror/view';
import { basicSetup } from 'codemirror';
import type { QueryViews } from './shapes.js';

interface EditorParts {
  text: string;
  views: QueryViews;
  label: string;
  onChange: (text: string) => void;
  onRun: () => void;
}

/** The editor in its host; the caller destroys it. */
export function createEditor(host: HTMLElement, parts: EditorParts): EditorView {
  const { views } = parts;
  const schema = Object.fromEntries(
    views.views.map((view) => [view.name, view.columns.map((column) => columnCompletion(column))]),
  );
  const language = sql({ dialect: PostgreSQL, schema, upperCaseKeywords: true });
  const run = () => {
    parts.onRun();
    return true;
  };
  return new EditorView({
    parent: host,
    state: EditorState.create({
      doc: parts.text,
      extensions: [
        Prec.highest(keymap.of([{ key: 'Mod-Enter', run }])),
        basicSetup,
        language,
        PostgreSQL.language.data.of({ autocomplete: ownWords(views) }),
        EditorView.lineWrapping,
        EditorView.contentAttributes.of({ 'aria-label': parts.label }),
        EditorView.updateListener.of((update) => {
          if (update.docChanged) parts.onChange(update.state.doc.toString());
        }),
      ],
    }),
  });
}

type Column = QueryViews['views'][number]['columns'][number];

const columnCompletion = ({ name, unit, type, meaning, source }: Column): Completion => ({
  label: name,
  type: 'property',
  detail: unit ?? type,
  info: `${meaning}. From ${source}.`,
});

/** Columns of the views that the statement names (of all while it names none), and functions. */
function ownWords({ views, functions }: QueryViews) {
  const calls = functions.map((name): Completion => ({ label: name, type: 'function', apply: `${name}(`, boost: -5 }));
  return (context: CompletionContext): CompletionResult | null => {
    const word = context.matchBefore(/[\w]+/);
    if (!word && !context.explicit) return null;
    const text = context.state.doc.toString();
    const named = views.filter(({ name }) => new RegExp(`\\b${name}\\b`, 'i').test(text));
    const columns = new Map<string, Completion>();
    for (const view of named.length > 0 ? named : views)
      for (const column of view.columns)
        if (!columns.has(column.name)) columns.set(column.name, columnCompletion(column));
    return { from: word?.from ?? context.pos, options: [...columns.values(), ...calls], validFor: /^\w*$/ };
  };
}
