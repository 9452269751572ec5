import { ENGINE_RULES, type SignalId } from '@tallybay/decode';
import type { LimitRows } from './crossing-tracker.js';

/** Without engine speed a vehicle that moved so lately is taken to run: it may stand at a light. Judgement, no source. */
const RUNS_ON_MS = 300_000;

/** Whether the engine runs at a row: by engine speed, else by movement, else always. The limits are those that cut drives. */
export class EngineWatch {
  private readonly column: number;
  private readonly kind: 'rpm' | 'speed' | 'none';
  private running = false;
  private movedMs = Number.NEGATIVE_INFINITY;

  constructor(signals: readonly SignalId[]) {
    const rpm = signals.indexOf('engine_speed_rpm');
    const speed = signals.indexOf('vehicle_speed_kmh');
    this.kind = rpm >= 0 ? 'rpm' : speed >= 0 ? 'speed' : 'none';
    this.column = rpm >= 0 ? rpm : speed;
  }

  row(timeMs: number, rows: LimitRows, row: number): boolean {
    if (this.kind === 'none') return true;
    const value = rows.values[this.column]![row];
    if (value !== null && value !== undefined && !Number.isNaN(value)) this.see(timeMs, value);
    if (this.kind === 'rpm') return this.running;
    return timeMs >= this.movedMs && timeMs - this.movedMs <= RUNS_ON_MS;
  }

  private see(timeMs: number, value: number): void {
    const { on, off } = ENGINE_RULES[this.kind === 'rpm' ? 'rpm' : 'speed'];
    if (value >= on) {
      this.running = true;
      this.movedMs = timeMs;
    } else if (value <= off) this.running = false;
  }
}
