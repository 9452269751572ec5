import { readFileSync } from 'node:fs';

/** CPU seconds and peak resident memory of another process, from Linux' /proc; null where there is no /proc. */
export interface ProcessFigures {
  cpuSeconds: number;
  peakBytes: number;
}

/** Clock ticks a second as /proc/<pid>/stat counts them: 100 on every Linux port of today. */
const TICKS = 100;

export function processFigures(pid: number): ProcessFigures | null {
  try {
    // The command name in parentheses may hold spaces, so fields are counted from behind it.
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
    const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
    const peak = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
    return { cpuSeconds: (Number(fields[11]) + Number(fields[12])) / TICKS, peakBytes: Number(peak?.[1] ?? 0) * 1024 };
  } catch {
    return null;
  }
}

/** CPU seconds of a process and of its children now; null where there is no /proc. */
export function familyCpuSeconds(pid: number): number | null {
  const own = processFigures(pid);
  if (!own) return null;
  const children = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').split(' ').filter(Boolean).map(Number);
  return children.reduce((sum, child) => sum + (processFigures(child)?.cpuSeconds ?? 0), own.cpuSeconds);
}
