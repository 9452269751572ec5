import type { ComponentChildren } from 'preact';

/** A table that may be wider than the window: it scrolls on its own, also with the arrow keys. */
export const ScrollBox = ({ label, children }: { label: string; children: ComponentChildren }) => (
  // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by the keyboard (WCAG 2.1.1)
  <section class="card scroll-x" aria-label={label} tabIndex={0}>
    {children}
  </section>
);
