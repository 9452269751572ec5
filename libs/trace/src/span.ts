/** Who works for whom, by OpenTelemetry's span kinds. */
export type SpanRole = 'server' | 'producer' | 'consumer' | 'internal';

export type SpanAttributes = Record<string, string | number | boolean>;

export interface SpanStart {
  /** Default: `internal`. */
  role?: SpanRole;
  /** W3C Trace Context `traceparent` of the caller; null for none. Default: the span under way. */
  parent?: string | null;
  attributes?: SpanAttributes;
}

/** A span that has begun. Ending it twice does no harm. */
export interface OpenSpan {
  /** What to hand to whoever works on: version, trace id, span id, flags (W3C Trace Context, section 3.2); null when nothing is traced. */
  readonly traceparent: string | null;
  set(attributes: SpanAttributes): void;
  /** @param error what it failed with */
  end(error?: unknown): void;
}

export const NO_SPAN: OpenSpan = { traceparent: null, set: () => {}, end: () => {} };
