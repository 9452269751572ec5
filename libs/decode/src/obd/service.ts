import { decodeCodeList } from '../codes/code-list.js';
import { decodeUdsCodeList, type UdsCode } from '../codes/uds.js';
import { type Decoded, type DecodeProblem, decoded, refused } from '../decode-problem.js';
import { isFill } from './fill.js';
import { FullScales } from './full-scales.js';
import { hexFromBytes } from './hex.js';
import { decodePid, type PidReading } from './pid.js';
import { pidName, pidRow } from './pid-table.js';
import type { PidOptions } from './pid-types.js';
import { type DiagnosticTransport, messagesFromText } from './response-text.js';
import { decodeVehicleInfo, joinLegacyInfo, type VehicleInfo } from './vehicle-info.js';

export type CodeService = '03' | '07' | '0A';

/** One response, by service. `frame` is the number of the freeze frame. */
export type ServiceResponse = { module: string | null } & (
  | { service: '01'; readings: PidReading[] }
  | { service: '02'; frames: { frame: number; reading: PidReading }[] }
  | { service: CodeService; status: 'confirmed' | 'pending' | 'permanent'; codes: string[] }
  | { service: '04' }
  | { service: '09'; info: VehicleInfo }
  | { service: '19'; codes: UdsCode[] }
);

export interface DecodedResponses {
  responses: ServiceResponse[];
  /** What could not be read; the rest was. */
  problems: DecodeProblem[];
}

const CODE_STATUS = { '03': 'confirmed', '07': 'pending', '0A': 'permanent' } as const;

/** ISO 14229-1 / ISO 14230-3 negative response codes (common ones, from memory). */
const REFUSALS: Readonly<Record<number, string>> = {
  16: 'general reject',
  17: 'service not supported',
  18: 'sub-function not supported',
  33: 'busy, repeat the request',
  34: 'conditions not correct',
  49: 'request out of range',
  51: 'security access denied',
  120: 'response pending',
};

/**
 * Service 01, 02, 03, 04, 07, 09, 0A and 19 responses from text; several modules, single and multi-frame.
 * A module's full scales (PID 4F, 50) hold for all of its values here, unless the options name others.
 * Never throws: what cannot be read is in `problems`.
 */
export function decodeResponses(
  texts: readonly string[],
  transport: DiagnosticTransport | null,
  options: PidOptions = {},
): DecodedResponses {
  const { messages, problems } = messagesFromText(texts, transport);
  const result: DecodedResponses = { responses: [], problems };
  const joined = joinLegacyInfo(messages);
  const scales = new FullScales();
  for (const { module, bytes } of joined) {
    if (bytes[0] !== CURRENT_DATA) continue;
    const first = decodeService(bytes, transport, options);
    if (first.ok && first.value.service === '01') scales.see(module, first.value.readings);
  }
  for (const { module, bytes } of joined) {
    const maxima = { ...scales.of(module), ...options.maxima };
    const response = decodeService(bytes, transport, { ...options, maxima });
    if (response.ok) result.responses.push({ module, ...response.value });
    else if (response.problem.code !== 'response_refused' || bytes[2] !== 0x78) result.problems.push(response.problem);
  }
  return result;
}

const CURRENT_DATA = 0x41;

type WithoutModule<T> = T extends unknown ? Omit<T, 'module'> : never;

/** One whole message from its service byte on. */
export function decodeService(
  bytes: Uint8Array,
  transport: DiagnosticTransport | null,
  options: PidOptions = {},
): Decoded<WithoutModule<ServiceResponse>> {
  const [service, ...rest] = bytes;
  const body = bytes.subarray(1);
  switch (service) {
    case undefined:
      return refused('response_empty', 'The message holds no bytes', 'Leave it out.');
    case CURRENT_DATA:
      return currentData(body, options);
    case 0x42:
      return freezeFrame(body, options);
    case 0x43:
      return codeList('03', body, transport);
    case 0x47:
      return codeList('07', body, transport);
    case 0x4a:
      return codeList('0A', body, transport);
    case 0x44:
      return decoded({ service: '04' });
    case 0x49:
      return mapped(decodeVehicleInfo(body), (info) => ({ service: '09', info }));
    case 0x59:
      return udsList(body);
    case 0x7f: {
      const [asked = 0, why = 0] = rest;
      const detail = `Service ${pidName(asked)} was refused: ${REFUSALS[why] ?? `code ${pidName(why)}`}`;
      return refused('response_refused', detail, 'The module does not offer this, or not now.');
    }
    default:
      return refused(
        'service_unknown',
        `A message starts with ${pidName(service)}`,
        'Responses start with 41, 42, 43, 44, 47, 49, 4A or 59.',
        0,
      );
  }
}

function mapped<A, B>(result: Decoded<A>, change: (value: A) => B): Decoded<B> {
  return result.ok ? decoded(change(result.value)) : result;
}

function codeList(
  service: CodeService,
  body: Uint8Array,
  transport: DiagnosticTransport | null,
): Decoded<WithoutModule<ServiceResponse>> {
  return mapped(decodeCodeList(body, transport), (codes) => ({ service, status: CODE_STATUS[service], codes }));
}

/** `59 02 mask` then records (reportDTCByStatusMask); the other reports are not read. */
function udsList(body: Uint8Array): Decoded<WithoutModule<ServiceResponse>> {
  if (body[0] !== 0x02 || body.length < 2) {
    return refused('service_unknown', `Report ${hexFromBytes(body.subarray(0, 1))} of service 19`, 'Send report 02.');
  }
  return mapped(decodeUdsCodeList(body.subarray(2)), (codes) => ({ service: '19', codes }));
}

function currentData(body: Uint8Array, options: PidOptions): Decoded<WithoutModule<ServiceResponse>> {
  const readings = readPids(body, 0, options);
  return mapped(readings, (list) => ({ service: '01', readings: list.map((item) => item.reading) }));
}

function freezeFrame(body: Uint8Array, options: PidOptions): Decoded<WithoutModule<ServiceResponse>> {
  return mapped(readPids(body, 1, options), (frames) => ({ service: '02', frames }));
}

/**
 * PID (and frame number) then data, repeated: lengths come from the table, the last one takes what is left. Filler of the frame
 * behind a value is left out.
 */
function readPids(
  body: Uint8Array,
  frameBytes: 0 | 1,
  options: PidOptions,
): Decoded<{ frame: number; reading: PidReading }[]> {
  if (body.length === 0) return refused('response_short', 'The PID is missing', 'Send the whole response.');
  const list: { frame: number; reading: PidReading }[] = [];
  let at = 0;
  while (at < body.length && !(at > 0 && isFrameFill(body.subarray(at)))) {
    const pid = body[at] ?? 0;
    const frame = frameBytes === 0 ? 0 : (body[at + 1] ?? 0);
    at += 1 + frameBytes;
    const left = Math.max(0, body.length - at);
    const row = pidRow(pid);
    const length = row === null || left <= row.maxBytes ? left : row.bytes;
    const reading = decodePid(pid, body.subarray(at, at + length), options);
    if (!reading.ok) return reading;
    list.push({ frame, reading: reading.value });
    at += length;
  }
  return decoded(list);
}

/** A parameter of 55 may hold two bytes of 55; the other fillers are no parameter, or say nothing (00). */
function isFrameFill(rest: Uint8Array): boolean {
  const mayBeParameter = rest[0] === 0x55 && (rest.length === 2 || rest.length === 3);
  return isFill(rest) && !mayBeParameter;
}
