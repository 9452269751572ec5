import { setFlagsFromString } from 'node:v8';

/**
 * Most of what a log leaves behind are large buffers, which V8 counts against a heap of few small objects: by default it
 * marks the whole heap about twice a log to find them, and that is an eighth of the service's CPU time. Letting the heap
 * double in between halves the collections; a log of 1 GB still stays under its limit (`npm run -s bench -- memory`).
 */
setFlagsFromString('--heap-growing-percent=100');
