import { AsyncLocalStorage } from 'node:async_hooks';
import type { Engine } from './engine.js';
import { NO_SPAN, type OpenSpan, type SpanStart } from './span.js';

let engine: Engine | null = null;
const underWay = new AsyncLocalStorage<OpenSpan>();

/**
 * Begins to trace where the environment names a collector (the variables of the OpenTelemetry specification:
 * OTEL_EXPORTER_OTLP_ENDPOINT or OTEL_EXPORTER_OTLP_TRACES_ENDPOINT; OTEL_SDK_DISABLED=true turns it off).
 * @param service the name that the spans carry, unless OTEL_SERVICE_NAME says another
 */
export async function startTraces(service: string, environment: NodeJS.ProcessEnv): Promise<void> {
  const endpoint = environment.OTEL_EXPORTER_OTLP_TRACES_ENDPOINT || environment.OTEL_EXPORTER_OTLP_ENDPOINT;
  if (!endpoint || environment.OTEL_SDK_DISABLED === 'true') return;
  const { openEngine } = await import('./engine.js');
  engine = openEngine(environment.OTEL_SERVICE_NAME || service);
}

/** Sends what is still kept. A collector that does not answer holds nothing up for longer than its own time limit. */
export async function stopTraces(): Promise<void> {
  const ending = engine;
  engine = null;
  await ending?.close();
}

export const isTracing = (): boolean => engine !== null;

/** The caller ends it. */
export function openSpan(name: string, start: SpanStart = {}): OpenSpan {
  if (!engine) return NO_SPAN;
  const parent = start.parent === undefined ? (underWay.getStore()?.traceparent ?? null) : start.parent;
  return engine.open(name, { ...start, parent });
}

/** Runs `work` so that spans opened in it are the span's children. */
export const within = <T>(span: OpenSpan, work: () => T): T =>
  span.traceparent === null ? work() : underWay.run(span, work);

/** A span for as long as `work` takes; it fails with it. */
export async function inSpan<T>(name: string, start: SpanStart, work: () => Promise<T>): Promise<T> {
  const span = openSpan(name, start);
  try {
    const result = await within(span, work);
    span.end();
    return result;
  } catch (error) {
    span.end(error);
    throw error;
  }
}

/** Headers, of HTTP or of a message, for whoever works on; empty when nothing is traced. */
export function traceHeaders(span: OpenSpan | undefined = underWay.getStore()): { traceparent?: string } {
  return typeof span?.traceparent === 'string' ? { traceparent: span.traceparent } : {};
}

/** For log lines: by these a line is found from its trace, and the other way round. */
export function traceFields(): { traceId?: string; spanId?: string } {
  const [, traceId, spanId] = underWay.getStore()?.traceparent?.split('-') ?? [];
  return traceId && spanId ? { traceId, spanId } : {};
}
