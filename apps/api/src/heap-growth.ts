import { setFlagsFromString } from 'node:v8';

/**
 * Pieces of an answer pass through this process in buffers outside the heap. By default V8 starts a full collection for every
 * 32 to 64 MB of such buffers, however small the heap is: four fifths of what relaying a large answer cost. Counted together with
 * the heap they are collected as often as the heap itself would be. Set before anything is allocated, so imported first.
 */
setFlagsFromString('--external-memory-accounted-in-global-limit');
