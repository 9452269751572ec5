import { TallybayError } from '@tallybay/contracts';

/** What a kafkajs error says about itself; `type` is the protocol's name of the error. */
export function kafkaErrorType(thrown: unknown): string | undefined {
  for (let error = thrown; error instanceof Error; error = error.cause) {
    if ('type' in error && typeof error.type === 'string') return error.type;
  }
  return undefined;
}

const ADVICE: Record<string, string> = {
  INVALID_REPLICATION_FACTOR: 'Set the replication factor to at most the number of brokers.',
  NOT_ENOUGH_REPLICAS: 'Bring the missing brokers back, or lower min in-sync replicas.',
  TOPIC_AUTHORIZATION_FAILED: 'Give this user the right to use the topic.',
  GROUP_AUTHORIZATION_FAILED: 'Give this user the right to use the consumer group.',
  SASL_AUTHENTICATION_FAILED: 'Check user name and password of the broker.',
  MESSAGE_TOO_LARGE: 'Raise max.message.bytes of the topic.',
};

/** Turns what kafkajs throws into `stream_unavailable`, naming the brokers and what to do. */
export function kafkaUnavailable(doing: string, brokers: string[], thrown: unknown): TallybayError {
  if (thrown instanceof TallybayError) return thrown;
  const reason = thrown instanceof Error ? thrown.message : String(thrown);
  const advice = ADVICE[kafkaErrorType(thrown) ?? ''] ?? 'Check that the brokers run and can be reached from here.';
  return new TallybayError('stream_unavailable', `Cannot ${doing} on Kafka at ${brokers.join(', ')}: ${reason}`, {
    advice,
    cause: thrown,
  });
}

/** Errors by which the broker says that the partition's assignment to this member has ended. */
const LOST = new Set(['ILLEGAL_GENERATION', 'UNKNOWN_MEMBER_ID', 'REBALANCE_IN_PROGRESS', 'FENCED_INSTANCE_ID']);

export function isAssignmentLost(thrown: unknown): boolean {
  return LOST.has(kafkaErrorType(thrown) ?? '');
}
