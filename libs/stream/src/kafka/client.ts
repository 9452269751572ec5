import { TallybayError } from '@tallybay/contracts';
import { Kafka, type KafkaConfig as KafkajsConfig, type LogEntry, logLevel, type RetryOptions } from 'kafkajs';
import type { KafkaConfig } from '../config.js';
import { correctKafkajs } from './internals.js';

type Report = (error: unknown) => void;

const CONNECT_WITHIN_MS = 3_000;
const REQUEST_WITHIN_MS = 10_000;
/** The same line from kafkajs is passed on once in so long. */
const SAME_LINE_EVERY_MS = 30_000;

/** Retries for about `forMs`, soon and often: the defaults of kafkajs back off to half a minute. */
export function retriesFor(forMs: number): RetryOptions {
  const maxRetryTime = 1_000;
  return {
    initialRetryTime: 100,
    maxRetryTime,
    multiplier: 2,
    factor: 0.2,
    retries: Math.ceil(forMs / maxRetryTime) + 3,
  };
}

/**
 * A kafkajs client. Every producer and consumer gets its own: kafkajs keeps committed offsets by group in the client
 * object, so that two members of one group in one client would clear each other's.
 */
export function kafkaClient(config: KafkaConfig, onProblem: Report, retry: RetryOptions): Kafka {
  correctKafkajs();
  return new Kafka({
    brokers: config.brokers,
    clientId: config.clientId,
    ssl: config.tls,
    sasl: config.sasl as KafkajsConfig['sasl'],
    connectionTimeout: CONNECT_WITHIN_MS,
    requestTimeout: Math.max(REQUEST_WITHIN_MS, config.sendTimeoutMs),
    retry,
    logLevel: logLevel.ERROR,
    logCreator: () => filteredLog(onProblem),
  });
}

/**
 * What kafkajs logs at ERROR in the ordinary course of things: a coordinator that loads after a start, a rebalance, and
 * lines that say what is thrown as well.
 */
const NOISE = [
  /coordinator is (loading|not available)/i,
  /not the (correct )?coordinator|not the leader/i,
  /rebalanc/i,
  /no leader for this topic-partition/i,
  /coordinator is not aware of this member/i,
  /^Restarting the consumer/,
  /^Crash: /,
];

function filteredLog(onProblem: Report): (entry: LogEntry) => void {
  const saidAt = new Map<string, number>();
  return ({ namespace, log }) => {
    const line = [log.message, log.error].filter(Boolean).join(': ');
    if (NOISE.some((pattern) => pattern.test(line))) return;
    if (Date.now() - (saidAt.get(line) ?? 0) < SAME_LINE_EVERY_MS) return;
    saidAt.set(line, Date.now());
    onProblem(new TallybayError('stream_unavailable', `Kafka client, ${namespace}: ${line}`));
  };
}
