// The stream between receive and decode: a port, an embedded durable spool, and Apache Kafka.
// Only this lib may import a Kafka client. Imports contracts for errors; knows nothing of logs, vehicles or the lake.
export { MAX_MESSAGE_BYTES, type StreamConfig, streamConfigSchema } from './config.js';
export { streamConfigFrom, streamEnvironmentShape } from './environment.js';
export { eventMessage } from './event-message.js';
export { openStream, type StreamOptions } from './open-stream.js';
export { murmur2, partitionOf } from './partition-of.js';
/** For unit tests of this lib only. */
export * as streamParts from './parts.js';
export * from './port.js';
/** Who writes a file, so that what a dead process left can be told from what a live one is writing. */
export { livenessOf, type ProcessIdentity, THIS_PROCESS } from './spool/process-identity.js';
