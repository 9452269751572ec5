import type { MonitorState } from '../obd/monitor-status.js';
import type { RawSnapshot, RawSnapshotCode } from './raw-snapshot.js';

/** Monitors of several modules: supported if one has it, complete only if every module that has it says so. */
export function mergeMonitors(lists: readonly MonitorState[][]): RawSnapshot['monitors'] {
  if (lists.length === 0) return undefined;
  const merged = new Map<MonitorState['id'], { id: MonitorState['id']; supported: boolean; complete: boolean }>();
  for (const { id, supported, complete } of lists.flat()) {
    const known = merged.get(id);
    if (!known) merged.set(id, { id, supported, complete });
    else if (supported) Object.assign(known, { supported, complete: (known.complete || !known.supported) && complete });
  }
  return [...merged.values()];
}

/** One row a code, status and module, in the order they came. */
export function distinctCodes(codes: readonly RawSnapshotCode[]): RawSnapshotCode[] {
  const byKey = new Map<string, RawSnapshotCode>();
  for (const code of codes) {
    const key = `${code.code} ${code.status} ${code.module ?? ''} ${code.failureType ?? ''}`;
    if (!byKey.has(key)) byKey.set(key, code);
  }
  return [...byKey.values()];
}

/** Which modules answered each code service. An answer whose module is not known stands for the whole vehicle. */
export class AnsweredModules {
  private readonly byStatus = new Map<RawSnapshotCode['status'], Set<string> | null>();

  add(status: RawSnapshotCode['status'], module: string | null): void {
    const known = this.byStatus.get(status);
    if (module === null || known === null) this.byStatus.set(status, null);
    else this.byStatus.set(status, (known ?? new Set()).add(module));
  }

  /** Undefined when no service can be told by module. */
  result(): RawSnapshot['modulesRead'] {
    const entries = [...this.byStatus].flatMap(([status, modules]) =>
      modules === null ? [] : [[status, [...modules].sort()] as const],
    );
    return entries.length > 0 ? Object.fromEntries(entries) : undefined;
  }
}

/** The snapshot without its undefined fields. */
export function compact(snapshot: RawSnapshot): RawSnapshot {
  const entries = Object.entries(snapshot).filter(([, value]) => value !== undefined);
  return Object.fromEntries(entries) as unknown as RawSnapshot;
}
