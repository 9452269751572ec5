import { classifyError, TallybayError } from '@tallybay/contracts';
import { type StreamConfig, streamConfigSchema } from './config.js';
import type { Stream } from './port.js';
import { openSpool } from './spool/spool-stream.js';

export interface StreamOptions {
  /** Told of trouble that ends nothing: a damaged record passed by, a retention sweep that failed. For a log and a counter. */
  onProblem?(error: TallybayError): void;
}

/**
 * Opens the stream that the configuration names. Call `prepare` before the first use.
 * @throws TallybayError `parameter_invalid` for a wrong configuration, `stream_unavailable`
 */
export async function openStream(config: StreamConfig, options: StreamOptions = {}): Promise<Stream> {
  const parsed = streamConfigSchema.safeParse(config);
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!;
    throw new TallybayError('parameter_invalid', `Stream configuration, ${issue.path.join('.')}: ${issue.message}`);
  }
  const onProblem = (error: unknown) => options.onProblem?.(classifyError(error));
  if (parsed.data.kind === 'spool') return await openSpool(parsed.data, onProblem);
  // Loaded only when used: kafkajs costs start time and memory that the embedded set-up need not pay.
  const { openKafka } = await import('./kafka/kafka-stream.js');
  return openKafka(parsed.data, onProblem);
}
