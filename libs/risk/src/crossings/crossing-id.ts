import type { LimitCrossing } from './crossing-tracker.js';

/** The same whenever the upload is decoded again under the same limit. */
export const crossingId = (uploadId: string, { limit, startMs }: LimitCrossing): string =>
  [uploadId, limit.signal, limit.direction, limit.stage, limit.limit, startMs].join('~');
