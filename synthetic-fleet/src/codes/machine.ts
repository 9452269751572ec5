import type { MonitorId, SnapshotCode } from '@tallybay/contracts';
import { isoInstant } from '../calendar.js';
import type { RandomStream } from '../random.js';
import type { DriveFeatures } from './features.js';
import { monitorsOf } from './monitors.js';
import { CODE_RULES } from './rules.js';

export type CodeEventKind = 'pending' | 'confirmed' | 'returned' | 'pending_erased' | 'lamp_off' | 'erased' | 'cleared';

export interface CodeEvent {
  at: string;
  code: string;
  event: CodeEventKind;
}

interface CodeState {
  module: string;
  pending: boolean;
  confirmed: boolean;
  /** Survives a clear; goes when the test passes. */
  permanent: boolean;
  lamp: boolean;
  passes: number;
  cleanWarmUps: number;
  occurrences: number;
  wasCleared: boolean;
}

export interface Counters {
  warmUps: number;
  km: number;
  minutes: number;
  lampKm: number;
  lampMinutes: number;
}

/**
 * Codes, lamp, monitors and counters of one vehicle, drive by drive. Two trips: a first failing drive sets a pending code,
 * a second one in a row confirms it and lights the lamp; three passing drives put the lamp out, forty warm-ups without the
 * fault erase the code (13 CCR 1968.2(d)(2) and 40 CFR 86.1806, from memory). A warm-up is a rise of 22 degC to 71 degC.
 */
export class CodeMachine {
  readonly events: CodeEvent[] = [];
  readonly #codes = new Map<string, CodeState>();
  readonly #complete = new Map<MonitorId, boolean>();
  readonly counters: Counters;

  constructor(
    readonly fuel: 'gas' | 'diesel',
    start: RandomStream,
  ) {
    for (const row of monitorsOf(fuel)) this.#complete.set(row.id, row.continuous || start.chance(0.95));
    this.counters = {
      warmUps: start.int(50, 240),
      km: start.int(1500, 9000),
      minutes: start.int(2500, 20_000),
      lampKm: 0,
      lampMinutes: 0,
    };
  }

  get lampOn(): boolean {
    return [...this.#codes.values()].some((state) => state.lamp);
  }

  /** Names of confirmed codes. */
  get confirmed(): string[] {
    return [...this.#codes].filter(([, state]) => state.confirmed).map(([code]) => code);
  }

  /** Books one finished drive; `others` are codes outside the heat rules with what their test found. */
  finishDrive(
    drive: DriveFeatures,
    end: { atMs: number; random: RandomStream; others: { code: string; module: string; failed: boolean }[] },
  ): void {
    this.#count(drive);
    const warmUp = isWarmUp(drive, this.fuel);
    for (const rule of CODE_RULES) {
      const failed = rule.failed(drive);
      if (failed !== null) this.#test(rule.code, rule.module, { failed, warmUp, atMs: end.atMs });
    }
    for (const other of end.others)
      this.#test(other.code, other.module, { failed: other.failed, warmUp, atMs: end.atMs });
    for (const row of monitorsOf(this.fuel))
      if (!this.#complete.get(row.id) && row.ran(drive, end.random)) this.#complete.set(row.id, true);
  }

  /** History from before the first drive: the code failed on two trips in a row. */
  confirmBefore(code: string, module: string, atMs: number): void {
    this.#test(code, module, { failed: true, warmUp: true, atMs: atMs - 2 * 86_400_000 });
    this.#test(code, module, { failed: true, warmUp: true, atMs: atMs - 86_400_000 });
    Object.assign(this.counters, { lampKm: 60, lampMinutes: 90 });
  }

  /** SAE J1979 service 04: codes, monitors and counters start anew; permanent codes stay. */
  clear(atMs: number): void {
    for (const [code, state] of this.#codes) {
      if (state.confirmed || state.pending) this.#note(atMs, code, 'cleared');
      if (state.confirmed) state.wasCleared = true;
      Object.assign(state, {
        pending: false,
        confirmed: false,
        lamp: false,
        passes: 0,
        cleanWarmUps: 0,
        occurrences: 0,
      });
    }
    for (const id of this.#complete.keys()) this.#complete.set(id, false);
    Object.assign(this.counters, { warmUps: 0, km: 0, minutes: 0, lampKm: 0, lampMinutes: 0 });
  }

  codes(): SnapshotCode[] {
    const list: SnapshotCode[] = [];
    for (const [code, state] of this.#codes) {
      if (state.pending) list.push({ code, status: 'pending', module: state.module });
      if (state.confirmed)
        list.push({ code, status: 'confirmed', module: state.module, occurrences: Math.min(126, state.occurrences) });
      if (state.permanent) list.push({ code, status: 'permanent', module: state.module });
    }
    return list;
  }

  monitors(): { id: MonitorId; supported: true; complete: boolean }[] {
    return [...this.#complete].map(([id, complete]) => ({ id, supported: true, complete }));
  }

  /** Monitors that run only under certain driving and are not complete: what an inspection counts. */
  incomplete(): MonitorId[] {
    const rows = monitorsOf(this.fuel);
    return rows.filter((row) => !row.continuous && !this.#complete.get(row.id)).map((row) => row.id);
  }

  #count(drive: DriveFeatures): void {
    const { counters } = this;
    if (isWarmUp(drive, this.fuel)) counters.warmUps = Math.min(255, counters.warmUps + 1);
    counters.km = Math.min(65_535, counters.km + drive.km);
    counters.minutes = Math.min(65_535, counters.minutes + drive.runS / 60);
    if (!this.lampOn) return;
    counters.lampKm = Math.min(65_535, counters.lampKm + drive.km);
    counters.lampMinutes = Math.min(65_535, counters.lampMinutes + drive.runS / 60);
  }

  #test(code: string, module: string, test: { failed: boolean; warmUp: boolean; atMs: number }): void {
    const state = this.#codes.get(code);
    if (!test.failed) {
      if (state) this.#pass(code, state, test);
      return;
    }
    this.#fail(code, state ?? this.#add(code, module), test.atMs);
  }

  #add(code: string, module: string): CodeState {
    const state: CodeState = {
      module,
      pending: false,
      confirmed: false,
      permanent: false,
      lamp: false,
      passes: 0,
      cleanWarmUps: 0,
      occurrences: 0,
      wasCleared: false,
    };
    this.#codes.set(code, state);
    return state;
  }

  #fail(code: string, state: CodeState, atMs: number): void {
    state.passes = 0;
    state.cleanWarmUps = 0;
    state.occurrences += 1;
    if (!state.pending) {
      state.pending = true;
      this.#note(atMs, code, 'pending');
      return;
    }
    const lampWasOn = this.lampOn;
    if (!state.confirmed) this.#note(atMs, code, state.wasCleared ? 'returned' : 'confirmed');
    Object.assign(state, { confirmed: true, permanent: true, lamp: true });
    if (!lampWasOn) Object.assign(this.counters, { lampKm: 0, lampMinutes: 0 });
  }

  #pass(code: string, state: CodeState, test: { warmUp: boolean; atMs: number }): void {
    if (state.pending) {
      state.pending = false;
      this.#note(test.atMs, code, 'pending_erased');
    }
    state.passes += 1;
    if (test.warmUp) state.cleanWarmUps += 1;
    if (state.lamp && state.passes >= 3) {
      state.lamp = false;
      this.#note(test.atMs, code, 'lamp_off');
    }
    if (!state.lamp && state.passes >= 3) state.permanent = false;
    if (state.confirmed && state.cleanWarmUps >= 40) {
      state.confirmed = false;
      this.#note(test.atMs, code, 'erased');
    }
  }

  #note(atMs: number, code: string, event: CodeEventKind): void {
    this.events.push({ at: isoInstant(atMs), code, event });
  }
}

function isWarmUp(drive: DriveFeatures, fuel: 'gas' | 'diesel'): boolean {
  return drive.maxCoolantC - drive.startCoolantC >= 22 && drive.maxCoolantC >= (fuel === 'gas' ? 71 : 60);
}
