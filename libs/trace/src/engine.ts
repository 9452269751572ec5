import { ROOT_CONTEXT, SpanKind, SpanStatusCode, trace } from '@opentelemetry/api';
import { parseTraceParent } from '@opentelemetry/core';
import { OTLPTraceExporter } from '@opentelemetry/exporter-trace-otlp-http';
import { defaultResource, resourceFromAttributes } from '@opentelemetry/resources';
import { BatchSpanProcessor, NodeTracerProvider } from '@opentelemetry/sdk-trace-node';
import type { OpenSpan, SpanRole, SpanStart } from './span.js';

const KINDS: Record<SpanRole, SpanKind> = {
  server: SpanKind.SERVER,
  producer: SpanKind.PRODUCER,
  consumer: SpanKind.CONSUMER,
  internal: SpanKind.INTERNAL,
};

/** The tracing library, loaded only where somebody collects. */
export interface Engine {
  open(name: string, start: SpanStart): OpenSpan;
  close(): Promise<void>;
}

/** The exporter, the sampler and the batches read their own OTEL_* variables from the process's environment. */
export function openEngine(service: string): Engine {
  const provider = new NodeTracerProvider({
    resource: defaultResource().merge(resourceFromAttributes({ 'service.name': service })),
    spanProcessors: [new BatchSpanProcessor(new OTLPTraceExporter())],
  });
  const tracer = provider.getTracer('tallybay');
  return {
    open: (name, { role = 'internal', parent, attributes = {} }) => {
      const remote = parent ? parseTraceParent(parent) : null;
      const context = remote ? trace.setSpanContext(ROOT_CONTEXT, { ...remote, isRemote: true }) : ROOT_CONTEXT;
      const span = tracer.startSpan(name, { kind: KINDS[role], attributes }, context);
      const { traceId, spanId, traceFlags } = span.spanContext();
      return {
        traceparent: `00-${traceId}-${spanId}-${traceFlags.toString(16).padStart(2, '0')}`,
        set: (more) => void span.setAttributes(more),
        end: (error) => {
          if (!span.isRecording()) return;
          if (error !== undefined)
            span.setStatus({
              code: SpanStatusCode.ERROR,
              message: error instanceof Error ? error.message : String(error),
            });
          span.end();
        },
      };
    },
    // A collector that is away is no reason for a service not to stop in order.
    close: () => provider.shutdown().catch(() => {}),
  };
}
