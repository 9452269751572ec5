import { setFlagsFromString } from 'node:v8';

/** The asker takes hundreds of megabytes in small buffers; without this it collects its heap for them while it measures. */
setFlagsFromString('--external-memory-accounted-in-global-limit');
