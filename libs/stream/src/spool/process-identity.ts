import { readFileSync, readlinkSync } from 'node:fs';

/** Enough to tell whether the process that wrote a lock is still the one that runs under its number. */
export interface ProcessIdentity {
  pid: number;
  /** Boot and process-id namespace: numbers can be compared only within one. Empty where the system does not say. */
  scope: string;
  /** Start time of the process in ticks since boot; empty where the system does not say. */
  startedAt: string;
}

function tryRead(read: () => string): string {
  try {
    return read().trim();
  } catch {
    return '';
  }
}

/** Field 22 of /proc/<pid>/stat (proc(5)); the command in field 2 may hold spaces and brackets. */
function startTicks(pid: number): string {
  const stat = tryRead(() => readFileSync(`/proc/${pid}/stat`, 'latin1'));
  return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? '';
}

function scope(): string {
  const boot = tryRead(() => readFileSync('/proc/sys/kernel/random/boot_id', 'latin1'));
  return boot + tryRead(() => readlinkSync('/proc/self/ns/pid'));
}

export const THIS_PROCESS: ProcessIdentity = { pid: process.pid, scope: scope(), startedAt: startTicks(process.pid) };

/** `unknown` when it ran under another boot or in another container, where its number says nothing. */
export function livenessOf(other: ProcessIdentity): 'alive' | 'dead' | 'unknown' {
  if (other.scope !== THIS_PROCESS.scope) return 'unknown';
  try {
    process.kill(other.pid, 0);
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ESRCH') return 'dead';
  }
  const ticks = startTicks(other.pid);
  return other.startedAt === '' || ticks === '' || ticks === other.startedAt ? 'alive' : 'dead';
}
