import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { moves } from '../app/location.js';
import { t } from '../text/text.js';

/** Moves that already gave the focus to a title; the first page leaves it where the browser put it. */
let seenMoves = 0;

/** Heading of a page: names the window, and takes the focus after a move so that keyboard and screen reader start here. */
export function PageTitle({ text, children }: { text: string; children?: ComponentChildren }) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${text} · ${t.brand}`;
  }, [text]);
  useEffect(() => {
    if (moves.peek() === seenMoves) return;
    seenMoves = moves.peek();
    heading.current?.focus({ preventScroll: true });
  }, []);
  return (
    <div class="page-title">
      <h1 ref={heading} tabIndex={-1}>
        {text}
      </h1>
      {children}
    </div>
  );
}
