import { options, type RefObject } from 'preact';
import { useEffect, useLayoutEffect, useRef, useState } from 'preact/hooks';

/** Rows drawn above and below the window, so that fast scrolling shows no gap. */
const SPARE_ROWS = 12;

/** Which rows of a long table stand in the window. All of them while the page is printed. */
export function useVisibleRows(
  count: number,
  rowHeight: number,
): { body: RefObject<HTMLTableSectionElement | null>; first: number; last: number } {
  const body = useRef<HTMLTableSectionElement>(null);
  const [span, setSpan] = useState({ first: 0, last: 40 });
  const [printing, setPrinting] = useState(false);
  useLayoutEffect(() => {
    const measure = () => {
      const top = body.current?.getBoundingClientRect().top ?? 0;
      const above = Math.max(0, Math.floor(-top / rowHeight) - SPARE_ROWS);
      // Whole steps of the spare rows: most scroll events then change nothing.
      const first = above - (above % SPARE_ROWS);
      const last = first + Math.ceil(window.innerHeight / rowHeight) + 3 * SPARE_ROWS;
      setSpan((before) => (before.first === first && before.last === last ? before : { first, last }));
    };
    measure();
    window.addEventListener('scroll', measure, { passive: true });
    window.addEventListener('resize', measure);
    return () => {
      window.removeEventListener('scroll', measure);
      window.removeEventListener('resize', measure);
    };
  }, [count, rowHeight]);
  useEffect(() => {
    const before = () => drawnAtOnce(() => setPrinting(true));
    const after = () => setPrinting(false);
    window.addEventListener('beforeprint', before);
    window.addEventListener('afterprint', after);
    return () => {
      window.removeEventListener('beforeprint', before);
      window.removeEventListener('afterprint', after);
    };
  }, []);
  if (printing) return { body, first: 0, last: count };
  const first = Math.min(span.first, Math.max(0, count - 1));
  return { body, first, last: Math.min(count, span.last) };
}

/** The printer takes the document as it is when the event handler returns, so the rows may not wait for the next tick. */
function drawnAtOnce(change: () => void): void {
  const usual = options.debounceRendering;
  options.debounceRendering = (draw) => draw();
  change();
  if (usual) options.debounceRendering = usual;
  else delete options.debounceRendering;
}
