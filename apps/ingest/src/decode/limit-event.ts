import { signalRow } from '@tallybay/decode';
import type { LimitEvent } from '@tallybay/registry';
import { crossingId, type LimitCrossing } from '@tallybay/risk';

const isoOf = (ms: number): string => new Date(ms).toISOString();

/** A crossing as other systems are told of it. @param at when it was found */
export function limitEventOf(
  upload: { uploadId: string; vehicleId: string },
  crossing: LimitCrossing,
  at: string,
): LimitEvent {
  const { signal, direction, stage, limit } = crossing.limit;
  return {
    ...{ kind: 'limit_exceeded', at, id: crossingId(upload.uploadId, crossing) },
    ...{ uploadId: upload.uploadId, vehicleId: upload.vehicleId },
    ...{ signal, unit: signalRow(signal).unit, direction, stage, limit },
    ...{ start: isoOf(crossing.startMs), end: isoOf(crossing.endMs), seconds: crossing.seconds },
    ...{ worst: crossing.worst, worstAt: isoOf(crossing.worstAtMs), context: crossing.context },
  };
}
