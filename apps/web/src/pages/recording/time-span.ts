/** A stretch of time, epoch ms, both ends inclusive. */
export interface Span {
  fromMs: number;
  toMs: number;
}

/** Closer than this there is nothing to tell apart, even at 100 rows a second. */
export const LEAST_SPAN_MS = 200;

export const lengthOf = ({ fromMs, toMs }: Span): number => toMs - fromMs;

export const holds = (span: Span, atMs: number): boolean => atMs >= span.fromMs && atMs <= span.toMs;

/** The span made as long as asked with `aroundMs` staying where it is, kept inside `whole`. */
export function zoomed(span: Span, whole: Span, factor: number, aroundMs: number): Span {
  const least = Math.min(LEAST_SPAN_MS, lengthOf(whole));
  const length = Math.min(lengthOf(whole), Math.max(least, lengthOf(span) * factor));
  const share = lengthOf(span) > 0 ? (aroundMs - span.fromMs) / lengthOf(span) : 0.5;
  return inside({ fromMs: aroundMs - share * length, toMs: aroundMs + (1 - share) * length }, whole);
}

/** The span moved along, as far as `whole` allows. */
export const moved = (span: Span, whole: Span, byMs: number): Span =>
  inside({ fromMs: span.fromMs + byMs, toMs: span.toMs + byMs }, whole);

/** A span of this length with `atMs` in its middle, as far as `whole` allows. */
export const around = (atMs: number, lengthMs: number, whole: Span): Span =>
  inside({ fromMs: atMs - lengthMs / 2, toMs: atMs + lengthMs / 2 }, whole);

/** The span pushed into `whole` without changing its length; cut where it is longer. */
export function inside(span: Span, whole: Span): Span {
  const length = Math.min(lengthOf(span), lengthOf(whole));
  const fromMs = Math.min(Math.max(span.fromMs, whole.fromMs), whole.toMs - length);
  return { fromMs, toMs: fromMs + length };
}

/** Both ends in order, inside `whole`. */
export function between(oneMs: number, otherMs: number, whole: Span): Span {
  const clamp = (ms: number) => Math.min(whole.toMs, Math.max(whole.fromMs, ms));
  return { fromMs: clamp(Math.min(oneMs, otherMs)), toMs: clamp(Math.max(oneMs, otherMs)) };
}
