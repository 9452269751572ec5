import { FMI_TEXT } from '../j1939/fault.js';
import { spnRow } from '../j1939/spn-table.js';
import type { MonitorName } from '../obd/monitor-status.js';
import type { CodeSeverity, CodeSystem } from './code-row.js';
import { codeRow } from './code-table.js';
import { codeStructure } from './structure.js';
import { FAILURE_TYPES } from './uds.js';

export interface CodeDescription {
  code: string;
  /** True: the text is this code's own; false: made from the code's structure. */
  known: boolean;
  text: string;
  system: CodeSystem;
  subsystem: string | null;
  owner: 'generic' | 'manufacturer' | 'reserved' | null;
  severity: CodeSeverity;
  /** Monitors that as a rule cannot complete while it is there. */
  blocks: readonly MonitorName[];
}

/**
 * A description of any code: SAE J2012 (`P0217`, `P0110:1C`) or J1939 (`SPN 110 FMI 0`). Unknown codes get system and
 * subsystem from their structure and severity `moderate`. Text that is no code gets system `powertrain`, owner null.
 */
export function describeCode(code: string): CodeDescription {
  const name = code.trim().toUpperCase();
  const spn = /^SPN (\d+) FMI (\d+)$/.exec(name);
  if (spn) return describeFault(name, Number(spn[1]), Number(spn[2]));
  const [base = '', type] = name.split(/[:-]/);
  const structure = codeStructure(base);
  if (!structure) {
    return { ...UNKNOWN, code: name, text: 'Not a trouble code of a known form', owner: null, subsystem: null };
  }
  const { owner, subsystem, area } = structure;
  const failure = type === undefined ? undefined : FAILURE_TYPES[type];
  const suffix = failure && type !== '00' ? ` (${failure})` : '';
  const row = codeRow(base);
  if (row) {
    const { text, system, severity, blocks } = row;
    return { code: name, known: true, text: text + suffix, system, subsystem, owner, severity, blocks };
  }
  const what = owner === 'manufacturer' ? "maker's own" : owner === 'reserved' ? 'reserved' : 'generic';
  const where = subsystem === null ? '' : `: ${subsystem}`;
  return {
    ...UNKNOWN,
    code: name,
    text: `${capital(area)} code, ${what}${where}${suffix}`,
    system: systemOf(base),
    subsystem,
    owner,
  };
}

const UNKNOWN = {
  known: false,
  system: 'powertrain' as CodeSystem,
  severity: 'moderate' as CodeSeverity,
  blocks: [] as readonly MonitorName[],
};

const P_SYSTEMS: Readonly<Record<string, CodeSystem>> = {
  '0': 'fuel',
  '1': 'fuel',
  '2': 'fuel',
  '3': 'ignition',
  '4': 'emission',
  '5': 'speed and idle',
  '6': 'control module',
  '7': 'transmission',
  '8': 'transmission',
  '9': 'transmission',
  A: 'hybrid',
  B: 'hybrid',
  C: 'hybrid',
};

function systemOf(code: string): CodeSystem {
  const letters = { P: P_SYSTEMS[code[2] ?? ''] ?? 'powertrain', C: 'chassis', B: 'body', U: 'network' } as const;
  return letters[code[0] as keyof typeof letters];
}

/** Systems of the parameters read here; others are `powertrain`. */
const SPN_SYSTEMS: Readonly<Record<number, CodeSystem>> = {
  110: 'cooling',
  109: 'cooling',
  111: 'cooling',
  175: 'lubrication',
  176: 'lubrication',
  100: 'lubrication',
  177: 'transmission',
  102: 'air',
  105: 'air',
  108: 'air',
  173: 'exhaust',
  1180: 'exhaust',
  1181: 'exhaust',
  168: 'electrical',
  183: 'fuel',
  174: 'fuel',
  96: 'fuel',
  84: 'speed and idle',
  190: 'ignition',
};

/** Most severe 0 and 1, moderately 16 and 18, least 15 and 17 (SAE J1939-73, read); circuit faults: common practice. */
function severityOfFmi(fmi: number): CodeSeverity {
  if (fmi === 0 || fmi === 1) return 'critical';
  if (fmi === 16 || fmi === 18 || fmi === 7 || fmi === 12) return 'high';
  return fmi === 14 ? 'low' : 'moderate';
}

function describeFault(code: string, spn: number, fmi: number): CodeDescription {
  const row = spnRow(spn);
  const text = `${row?.name ?? `Parameter ${spn}`}: ${FMI_TEXT[fmi] ?? 'no such failure mode'}`;
  return {
    ...UNKNOWN,
    code,
    known: row !== null && FMI_TEXT[fmi] !== undefined,
    text,
    system: SPN_SYSTEMS[spn] ?? 'powertrain',
    subsystem: null,
    owner: spn >= 520_192 ? 'manufacturer' : 'generic',
    severity: severityOfFmi(fmi),
  };
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
