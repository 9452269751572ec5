import {
  bytesFromHex,
  conversionFor,
  type Decoded,
  decodeMonitorStatus,
  decodePid,
  decodeResponses,
  decodeSupportedPids,
  decodeUdsCode,
  type PidReading,
  type PidValue,
  troubleCodeOrNull,
} from '@tallybay/decode';
import { type Adapter, type Check, picked, unknownKind, type Vector } from './check.js';

export function unwrap<T>(result: Decoded<T>): T {
  if (result.ok) return result.value;
  throw new Error(`${result.problem.code}: ${result.problem.detail}`);
}

const bytesOf = (hex: string): Uint8Array => unwrap(bytesFromHex(hex));

/** `{pid, hex, field, expected, unit}` */
export const pid: Adapter = ({ pid: name, hex, field, expected, unit }) => {
  const value = fieldOf(unwrap(decodePid(Number.parseInt(name, 16), bytesOf(hex))), field, unit);
  const label = `${name} ${hex} ${field}`;
  const checks: Check[] = [{ name: label, expected, got: inUnit(value, unit) }];
  if (typeof expected === 'number' && value.unit !== unit && conversionFor(value.unit ?? '', unit) === null) {
    checks.push({ name: `${label}, unit`, expected: unit, got: value.unit });
  }
  return checks;
};

function inUnit(value: PidValue, unit: string): PidValue['value'] {
  if (typeof value.value !== 'number' || value.unit === unit || value.unit === null) return value.value;
  const linear = conversionFor(value.unit, unit);
  return linear ? value.value * linear.scale + linear.offset : value.value;
}

/**
 * Vectors name fields in their own words. The field of that id; else the only one in that unit; else the one that shares
 * most words, if no other shares as many.
 */
function fieldOf(reading: PidReading, field: string, unit: string): PidValue {
  const exact = reading.values.find((value) => value.field === field);
  if (exact) return exact;
  const fitting = reading.values.filter((value) => value.unit === unit);
  const [only] = fitting;
  if (fitting.length === 1 && only) return only;
  const words = wordsOf(field);
  const scored = (fitting.length > 0 ? fitting : reading.values)
    .map((value) => ({ value, score: wordsOf(value.field).filter((word) => words.includes(word)).length }))
    .sort((first, second) => second.score - first.score);
  const [best, next] = scored;
  if (!best || best.score === 0 || best.score === next?.score) {
    throw new Error(`no field "${field}" among ${reading.values.map((value) => value.field).join(', ')}`);
  }
  return best.value;
}

const wordsOf = (field: string): string[] => field.toLowerCase().split(/[_\s]+/);

/** `{pid: '01' | '41', hex, expected}` */
export const monitorStatus: Adapter = ({ pid: name, hex, expected }) => {
  const status = unwrap(decodeMonitorStatus(bytesOf(hex), name === '41' ? 'this-cycle' : 'since-clear'));
  const supported = status.monitors.filter((monitor) => monitor.supported);
  const open = supported.filter((monitor) => !monitor.complete);
  const ids = (monitors: typeof open): string[] => monitors.map((monitor) => monitor.id);
  const got = {
    mil: status.lampOn,
    dtcCount: status.codeCount,
    ignition: status.ignition,
    supported: ids(supported),
    incomplete: ids(open),
    incompleteNonContinuous: open.filter((monitor) => !monitor.continuous).length,
    enabledThisCycle: ids(supported),
    incompleteThisCycle: ids(open),
  };
  return [{ name: `PID ${name} ${hex}`, expected, got: picked(expected, got) }];
};

/** `{basePid, hex, expected}` */
export const supportedPids: Adapter = ({ basePid, hex, expected }) => [
  { name: `${basePid} ${hex}`, expected, got: decodeSupportedPids(Number.parseInt(basePid, 16), bytesOf(hex)) },
];

const CODE_KINDS: Record<string, (vector: Vector) => Check[]> = {
  code2: ({ hex, expected }) => {
    const [high = 0, low = 0] = bytesOf(hex);
    // No code is written as null, an empty text or "none".
    const none = expected === null || expected === '' || expected === 'none';
    return [{ name: hex, expected: none ? null : expected, got: troubleCodeOrNull(high, low) }];
  },
  service: ({ hex, transport, expected }) => [{ name: `${transport} ${hex}`, expected, got: codesOf(hex, transport) }],
  ambiguity: ({ hex, expected }) => [
    { name: hex, expected, got: { legacy: codesOf(hex, 'legacy'), can: codesOf(hex, 'can') } },
    {
      name: `${hex} without a transport`,
      expected: 'transport_ambiguous',
      got: decodeResponses([hex], null).problems[0]?.code ?? 'read without a problem',
    },
  ],
  uds: ({ hex, expected }) => {
    const { code, ftb, status } = unwrap(decodeUdsCode(bytesOf(hex)));
    return [{ name: hex, expected, got: picked(expected, { code, ftb, status }) }];
  },
};

function codesOf(hex: string, transport: 'can' | 'legacy'): string[] | string {
  const { responses, problems } = decodeResponses([hex], transport);
  if (problems[0]) return `${problems[0].code}: ${problems[0].detail}`;
  return responses.flatMap((response) =>
    response.service === '03' || response.service === '07' || response.service === '0A' ? response.codes : [],
  );
}

export const dtc: Adapter = (vector) => (CODE_KINDS[vector.kind] ?? ((other) => unknownKind('dtc', other)))(vector);
