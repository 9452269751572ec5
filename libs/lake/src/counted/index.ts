export { countOnce } from './count-once.js';
export { type CountedTime, type Overlap, overlapsOf, readCountedTime, type SharedDrive } from './counted-time.js';
