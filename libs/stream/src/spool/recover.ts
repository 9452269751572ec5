import { open, stat, unlink } from 'node:fs/promises';
import { type DurableEnd, readDurableEnd } from './durable-end.js';
import { syncDirectory } from './durable-file.js';
import { recordCorrupt } from './file-problem.js';
import { bodyIsIntact, findFrame, frameBytes, tryFrameHeader } from './frame.js';
import { listSegments, readAt, SEGMENT_HEADER_BYTES, segmentPath, trySegmentSalt } from './segment.js';

export interface Tail extends DurableEnd {
  salt: number;
  /** Bytes of unfinished records that were cut away. */
  cutBytes: number;
  /** True when acknowledged bytes are gone from the file: go on in a new segment, so that no offset is used twice. */
  mustRoll: boolean;
}

type Report = (error: unknown) => void;

/**
 * Finds the end of a partition after a crash, cuts a torn tail, syncs what remains. Call only while holding its lease.
 * Damage in front of records that had been acknowledged is reported and left in place for the reader to judge.
 * @returns undefined for a partition without segments
 */
export async function recoverTail(directory: string, report: Report): Promise<Tail | undefined> {
  const known = await readDurableEnd(directory);
  const segments = await dropUnfinishedSegments(directory);
  const segment = segments.at(-1);
  if (segment === undefined) return undefined;
  const path = segmentPath(directory, segment);
  const handle = await open(path, 'r+');
  try {
    const { size } = await handle.stat();
    const salt = trySegmentSalt(await readAt(handle, 0, SEGMENT_HEADER_BYTES), segment);
    if (salt === undefined) throw recordCorrupt(path, 0, segment, 'the header of the segment file is damaged');
    const start = startOfScan(known, segment, size);
    const bytes = await readAt(handle, start.position, size - start.position);
    const scan = scanTail({ bytes, salt, path, ...start }, report);
    const cutBytes = size - scan.position;
    if (cutBytes > 0) await handle.truncate(scan.position);
    await handle.datasync();
    const lost = known !== undefined && known.nextOffset > scan.nextOffset;
    if (lost) report(recordCorrupt(path, size, scan.nextOffset, `the file ends before record ${known.nextOffset}`));
    const nextOffset = lost ? known.nextOffset : scan.nextOffset;
    return { segment, position: scan.position, nextOffset, salt, cutBytes, mustRoll: lost };
  } finally {
    await handle.close();
  }
}

/** A crash while creating a segment leaves a file without a whole header; nothing can have been acknowledged in it. */
async function dropUnfinishedSegments(directory: string): Promise<bigint[]> {
  const segments = await listSegments(directory);
  const newest = segments.at(-1);
  if (newest === undefined) return segments;
  const path = segmentPath(directory, newest);
  if ((await stat(path)).size >= SEGMENT_HEADER_BYTES) return segments;
  await unlink(path);
  await syncDirectory(directory);
  return segments.slice(0, -1);
}

/** What is known to be synced need not be read again. */
function startOfScan(known: DurableEnd | undefined, segment: bigint, size: number) {
  return known && known.segment === segment && known.position <= size
    ? { position: known.position, nextOffset: known.nextOffset }
    : { position: SEGMENT_HEADER_BYTES, nextOffset: segment };
}

interface ScanInput {
  bytes: Buffer;
  salt: number;
  path: string;
  /** Place of `bytes[0]` in the file and the offset expected there. */
  position: number;
  nextOffset: bigint;
}

/** Walks whole records; pure but for `report`. Exported for the tests of torn tails. */
export function scanTail(input: ScanInput, report: Report): { position: number; nextOffset: bigint } {
  const { bytes, salt, path } = input;
  let { nextOffset } = input;
  let at = 0;
  while (at < bytes.length) {
    const header = tryFrameHeader(bytes, at, salt);
    if (header && header.offset === nextOffset && bodyIsIntact(bytes, at, header)) {
      at += frameBytes(header);
      nextOffset++;
      continue;
    }
    const resumed = findAcknowledgedAfter(bytes, at, salt, nextOffset);
    if (!resumed) break;
    report(recordCorrupt(path, input.position + at, nextOffset, 'its bytes do not match their checksum'));
    at = resumed.at;
    nextOffset = resumed.offset;
  }
  return { position: input.position + at, nextOffset };
}

/** The next record that proves, by its durable offset, that `offset` had been acknowledged. */
function findAcknowledgedAfter(bytes: Buffer, from: number, salt: number, offset: bigint) {
  for (let at = findFrame(bytes, from, salt); at !== -1; at = findFrame(bytes, at + 1, salt)) {
    const header = tryFrameHeader(bytes, at, salt);
    if (header && header.offset > offset && header.durableOffset > offset && bodyIsIntact(bytes, at, header)) {
      return { at, offset: header.offset };
    }
  }
  return undefined;
}
