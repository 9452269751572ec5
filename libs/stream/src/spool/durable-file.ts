import { type FileHandle, mkdir, open, rename } from 'node:fs/promises';
import { dirname } from 'node:path';

/** Makes names created, renamed or removed in `directory` survive a power cut. */
export async function syncDirectory(directory: string): Promise<void> {
  const handle = await open(directory, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

/** Creates `directory` and its parents, each one synced into its own parent. */
export async function makeDurableDirectory(directory: string): Promise<void> {
  const first = await mkdir(directory, { recursive: true });
  if (first === undefined) return;
  for (let path = directory; ; path = dirname(path)) {
    await syncDirectory(dirname(path));
    if (path === first || path === dirname(path)) return;
  }
}

/** Replaces `path` as a whole: after a crash it has either the old or the new content. */
export async function replaceDurably(path: string, content: string): Promise<void> {
  const temporary = `${path}.${process.pid}.new`;
  const handle = await open(temporary, 'w');
  try {
    await handle.writeFile(content);
    await handle.sync();
  } finally {
    await handle.close();
  }
  await rename(temporary, path);
  await syncDirectory(dirname(path));
}

/** writev that goes on after a short write. `buffers` may hold more than the 1024 that the system takes at once. */
export async function writeAll(handle: FileHandle, buffers: Uint8Array[], position: number): Promise<number> {
  const MAX_BUFFERS = 1000;
  let at = position;
  let next = 0;
  let pending: Uint8Array[] = [];
  while (next < buffers.length || pending.length > 0) {
    while (pending.length < MAX_BUFFERS && next < buffers.length) pending.push(buffers[next++]!);
    const { bytesWritten } = await handle.writev(pending, at);
    at += bytesWritten;
    pending = dropBytes(pending, bytesWritten);
  }
  return at;
}

function dropBytes(buffers: Uint8Array[], bytes: number): Uint8Array[] {
  let left = bytes;
  let first = 0;
  while (first < buffers.length && left >= buffers[first]!.byteLength) left -= buffers[first++]!.byteLength;
  const rest = buffers.slice(first);
  if (left > 0) rest[0] = rest[0]!.subarray(left);
  return rest;
}
