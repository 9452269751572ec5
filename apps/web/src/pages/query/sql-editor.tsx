import type { EditorView } from '@codemirror/view';
import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from '../../text/text.js';
import type { QueryViews } from './shapes.js';

interface EditorProps {
  /** Replaces what is in the editor when `stamp` changes. */
  text: string;
  stamp: number;
  views: QueryViews | null;
  onChange: (text: string) => void;
  onRun: () => void;
  /** Gets a way to put text where the cursor is. */
  onReady: (insert: (text: string) => void) => void;
}

/** CodeMirror, fetched when the page is opened; completes our views, their columns and the functions that may be called. */
export function SqlEditor({ text, stamp, views, onChange, onRun, onReady }: EditorProps) {
  const host = useRef<HTMLDivElement>(null);
  const editor = useRef<EditorView | null>(null);
  const [failed, setFailed] = useState(false);
  const newest = useRef({ text, onChange, onRun, onReady });
  newest.current = { text, onChange, onRun, onReady };
  useEffect(() => {
    let gone = false;
    void import('./code-editor.js').then(
      ({ createEditor }) => {
        if (gone || !host.current || !views) return;
        editor.current = createEditor(host.current, {
          text: newest.current.text,
          views,
          label: t.query.editor,
          onChange: (next) => newest.current.onChange(next),
          onRun: () => newest.current.onRun(),
        });
        newest.current.onReady((insert) => {
          const view = editor.current;
          if (!view) return;
          view.dispatch(view.state.replaceSelection(insert));
          view.focus();
        });
      },
      () => setFailed(true),
    );
    return () => {
      gone = true;
      editor.current?.destroy();
      editor.current = null;
    };
  }, [views]);
  useEffect(() => {
    const view = editor.current;
    if (view && view.state.doc.toString() !== text)
      view.dispatch({ changes: { from: 0, to: view.state.doc.length, insert: text } });
  }, [stamp]);
  // Without the editor the statement can still be typed.
  if (failed)
    return (
      <textarea
        class="sql-plain"
        aria-label={t.query.editor}
        value={text}
        onInput={(event) => onChange(event.currentTarget.value)}
      />
    );
  return <div ref={host} class="sql-editor" />;
}
