// Traces: what one upload or one question did on its way through HTTP, the stream, decoding and the lake, as spans that go
// to a collector by OTLP over HTTP when OTEL_EXPORTER_OTLP_ENDPOINT is set. Without it nothing is loaded and nothing kept.
// The only place that knows a tracing library; imports nothing of the project.
export { requestSpan, traceRequests } from './http-spans.js';
export { NO_SPAN, type OpenSpan, type SpanAttributes, type SpanRole, type SpanStart } from './span.js';
export { inSpan, openSpan, startTraces, stopTraces, traceFields, traceHeaders, within } from './tracing.js';
