// The building blocks of this lib, for the unit tests that take them apart. Apps use only the port and `openStream`.
export { correctKafkajs } from './kafka/internals.js';
export { Lane } from './kafka/lane.js';
export { Appender } from './spool/appender.js';
export { DURABLE_END_FILE, readDurableEnd } from './spool/durable-end.js';
export {
  bodyIsIntact,
  encodeBody,
  findFrame,
  frameBytes,
  messageAt,
  sealFrame,
  tryFrameHeader,
} from './spool/frame.js';
export { GenerationLock } from './spool/generation-lock.js';
export { THIS_PROCESS } from './spool/process-identity.js';
export { PartitionReader } from './spool/reader.js';
export { recoverTail, scanTail } from './spool/recover.js';
export { SEGMENT_HEADER_BYTES } from './spool/segment.js';
