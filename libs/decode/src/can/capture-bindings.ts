import type { LogPlan } from '../log/types.js';
import { type CaptureOrigin, isCapturePlan } from './capture-plan.js';

/** Where a decoded value goes: a signal column, or (column -1) the side list of the channel. */
export interface CaptureBinding {
  column: number;
  channel: number;
  scale: number;
  offset: number;
}

/** Finds the binding of an origin on a bus; null = counted in the report only. */
export interface CaptureBindings {
  spn(spn: number, source: number, bus: string): CaptureBinding | null;
  pid(pid: number, field: string, module: string, bus: string): CaptureBinding | null;
  dbc(message: string, signal: string): CaptureBinding | null;
}

export const NO_BINDINGS: CaptureBindings = { spn: () => null, pid: () => null, dbc: () => null };

/** Bindings of a capture's plan; a plan of another format binds nothing. */
export function bindingsOf(plan: LogPlan): CaptureBindings {
  if (!isCapturePlan(plan)) return NO_BINDINGS;
  const byKey = new Map<string, CaptureBinding>();
  plan.channels.forEach((channel, index) => {
    const origin = plan.capture.origins[index];
    if (!origin) return;
    const column = channel.role === 'signal' && channel.signal !== null ? plan.signals.indexOf(channel.signal) : -1;
    byKey.set(keyOf(origin), { column, channel: index, scale: channel.scale, offset: channel.offset });
  });
  const find = (origin: CaptureOrigin, anyBus: CaptureOrigin): CaptureBinding | null =>
    byKey.get(keyOf(origin)) ?? byKey.get(keyOf(anyBus)) ?? null;
  return {
    spn: (spn, source, bus) =>
      find({ kind: 'spn', spn, pgn: 0, source, bus }, { kind: 'spn', spn, pgn: 0, source, bus: null }),
    pid: (pid, field, module, bus) =>
      find({ kind: 'pid', pid, field, module, bus }, { kind: 'pid', pid, field, module: null, bus: null }),
    dbc: (message, signal) => byKey.get(keyOf({ kind: 'dbc', message, signal })) ?? null,
  };
}

function keyOf(origin: CaptureOrigin): string {
  switch (origin.kind) {
    case 'spn':
      return `spn ${origin.spn} ${origin.source} ${origin.bus ?? '*'}`;
    case 'pid':
      return `pid ${origin.pid} ${origin.field} ${origin.module ?? '*'} ${origin.bus ?? '*'}`;
    case 'dbc':
      return `dbc ${origin.message} ${origin.signal}`;
  }
}
