import type { MonitorName } from '../obd/monitor-status.js';

export type CodeSystem =
  | 'air'
  | 'fuel'
  | 'ignition'
  | 'misfire'
  | 'cooling'
  | 'lubrication'
  | 'exhaust'
  | 'emission'
  | 'evaporative'
  | 'speed and idle'
  | 'electrical'
  | 'control module'
  | 'transmission'
  | 'hybrid'
  | 'network'
  | 'chassis'
  | 'body'
  | 'powertrain';

/**
 * `critical` damage or loss of control is near: stop; `high` soon, within days; `moderate` at the next visit;
 * `low` convenience or a hint. Common practice, no source; a fleet may set its own.
 */
export type CodeSeverity = 'critical' | 'high' | 'moderate' | 'low';

/** One generic trouble code. Numbers and meaning: SAE J2012, from memory; the words are ours. */
export interface CodeRow {
  code: string;
  text: string;
  system: CodeSystem;
  severity: CodeSeverity;
  /** Monitors that as a rule cannot run or complete while the fault is there. Common practice, no source. */
  blocks: readonly MonitorName[];
}

export interface CodeTraits {
  system: CodeSystem;
  severity: CodeSeverity;
  blocks: readonly MonitorName[];
}

export function traits(system: CodeSystem, severity: CodeSeverity, ...blocks: MonitorName[]): CodeTraits {
  return { system, severity, blocks };
}

export function one(code: string, text: string, of: CodeTraits): CodeRow {
  return { code, text, ...of };
}

/** `P0201` plus 3 is `P0204`: generic codes are numbered in decimal within their last two digits. */
function codeAfter(first: string, steps: number): string {
  const number = Number(first.slice(3)) + steps;
  return first.slice(0, 3) + String(number).padStart(2, '0');
}

/** Consecutive codes from `first`, one for each text; an empty text leaves its number out. */
export function run(first: string, texts: readonly string[], of: CodeTraits): CodeRow[] {
  return texts.flatMap((text, steps) => (text === '' ? [] : [one(codeAfter(first, steps), text, of)]));
}

const SENSOR_FAULTS = ['circuit fault', 'signal implausible', 'signal low', 'signal high', 'signal intermittent'];

/** Five codes of a sensor: circuit, range, low, high, intermittent. */
export function sensor(first: string, name: string, of: CodeTraits): CodeRow[] {
  return run(
    first,
    SENSOR_FAULTS.map((fault) => `${name}: ${fault}`),
    of,
  );
}

/** The first four of `sensor`. */
export function sensorFour(first: string, name: string, of: CodeTraits): CodeRow[] {
  return run(
    first,
    SENSOR_FAULTS.slice(0, 4).map((fault) => `${name}: ${fault}`),
    of,
  );
}

const ACTUATOR_FAULTS = ['circuit fault', 'does not follow its command', 'control circuit low', 'control circuit high'];

/** Four codes of an actuator: circuit, performance, low, high. */
export function actuator(first: string, name: string, of: CodeTraits): CodeRow[] {
  return run(
    first,
    ACTUATOR_FAULTS.map((fault) => `${name}: ${fault}`),
    of,
  );
}

const SOLENOID_FAULTS = ['fault', 'stuck off or slow', 'stuck on', 'electrical fault', 'intermittent'];

/** Five codes of a transmission solenoid. */
export function solenoid(first: string, name: string, of: CodeTraits): CodeRow[] {
  return run(
    first,
    SOLENOID_FAULTS.map((fault) => `${name}: ${fault}`),
    of,
  );
}
