import { inSpan, openSpan, startTraces, traceFields, traceHeaders, traceRequests, within } from '@tallybay/trace';
import { describe, expect, it } from 'vitest';

describe('without a collector', () => {
  it('nothing is begun, handed on, written into a log line or hung into a server', async () => {
    await startTraces('tallybay-test', {});
    await startTraces('tallybay-test', {
      OTEL_EXPORTER_OTLP_ENDPOINT: 'http://127.0.0.1:9',
      OTEL_SDK_DISABLED: 'true',
    });
    const span = openSpan('decode upload', { parent: '00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01' });
    expect(span.traceparent).toBeNull();
    expect(within(span, () => [traceHeaders(), traceFields()])).toEqual([{}, {}]);
    const hooks: string[] = [];
    traceRequests({ addHook: (name) => hooks.push(name) });
    expect(hooks).toEqual([]);
  });

  it('work runs, answers and fails as it would by itself', async () => {
    expect(await inSpan('store upload', {}, async () => 7)).toBe(7);
    await expect(inSpan('store upload', {}, () => Promise.reject(new Error('full')))).rejects.toThrow('full');
  });
});
