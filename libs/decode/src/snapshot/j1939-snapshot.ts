import { type DecodeProblem, refused } from '../decode-problem.js';
import {
  DM_PGNS,
  type DmName,
  decodeDm5,
  decodeDm21,
  decodeDm26,
  decodeFaultList,
  dmOfPgn,
  isFaultListDm,
} from '../j1939/dm.js';
import { faultName, type J1939Fault } from '../j1939/fault.js';
import { GLOBAL_ADDRESS, j1939IdFromNumber } from '../j1939/id.js';
import { decodeSpn } from '../j1939/spn.js';
import { spnRow } from '../j1939/spn-table.js';
import { createJ1939Transport, type J1939Message } from '../j1939/transport.js';
import { bytesFromHex } from '../obd/hex.js';
import type { MonitorState } from '../obd/monitor-status.js';
import { isVinWellFormed } from '../vin/vin.js';
import { AnsweredModules, compact, distinctCodes, mergeMonitors } from './merge.js';
import type { RawSnapshot, RawSnapshotCode, RawSnapshotCounters, SnapshotPart } from './raw-snapshot.js';

/** Lists of faults that are there now; DM2 and DM23 tell of the past and give no codes. */
const STATUS_OF_DM: Partial<Record<DmName, RawSnapshotCode['status']>> = {
  DM1: 'confirmed',
  DM6: 'pending',
  DM12: 'confirmed',
  DM28: 'permanent',
};

const PGN_VIN = 65_260;

interface Found {
  codes: RawSnapshotCode[];
  read: Set<SnapshotPart>;
  answered: AnsweredModules;
  mil: Set<string>;
  monitors: MonitorState[][];
  counters: RawSnapshotCounters;
  problems: DecodeProblem[];
}

/**
 * J1939 frames (`18FECA00#00FF…`, `18FECA00 00 FF …`, capture lines) or whole messages by name (`DM1 00FF…`, taken as
 * from address 0). Multi-packet messages are joined.
 */
export function readJ1939Snapshot(responses: readonly string[]): RawSnapshot {
  const found: Found = {
    ...{ codes: [], read: new Set(), answered: new AnsweredModules(), mil: new Set() },
    ...{ monitors: [], counters: {}, problems: [] },
  };
  const messages = messagesOf(responses, found.problems);
  for (const message of messages) takeMessage(message, found);
  const monitors = mergeMonitors(found.monitors);
  const compression = monitors?.some((monitor) => monitor.id === 'exhaust_gas_sensor');
  const codesRead = found.read.has('confirmed') || found.read.has('pending') || found.read.has('permanent');
  return compact({
    codes: codesRead ? distinctCodes(found.codes) : undefined,
    lampOn: found.mil.has('on') ? true : found.mil.has('off') ? false : undefined,
    ignition: compression ? 'compression' : undefined,
    monitors,
    counters: Object.keys(found.counters).length > 0 ? found.counters : undefined,
    odometerKm: spnValueOf(messages, 917) ?? spnValueOf(messages, 245),
    engineHours: spnValueOf(messages, 247),
    vin: vinOf(messages),
    read: [...found.read],
    modulesRead: found.answered.result(),
    problems: found.problems,
  });
}

function messagesOf(responses: readonly string[], problems: DecodeProblem[]): J1939Message[] {
  const transport = createJ1939Transport();
  const messages: J1939Message[] = [];
  for (const text of responses.flatMap((response) => response.split(/[\r\n|]+/))) {
    const line = text.trim().replace(/^\([\d.]+\)\s+\S+\s+/, '');
    if (line === '') continue;
    const named = /^(DM\d+)\s*[:#=]?\s*([0-9a-f\s]+)$/i.exec(line);
    const framed = /^([0-9a-f]{8})\s*[#\s]\s*([0-9a-f\s]*)$/i.exec(line);
    const hex = bytesFromHex(named?.[2] ?? framed?.[2] ?? '');
    const pgn = named ? DM_PGNS[(named[1] ?? '').toUpperCase() as DmName] : undefined;
    if (!hex.ok) problems.push(hex.problem);
    else if (pgn !== undefined) messages.push({ pgn, source: 0, destination: GLOBAL_ADDRESS, data: hex.value });
    else if (framed) {
      const result = transport.push(j1939IdFromNumber(Number.parseInt(framed[1] ?? '', 16)), hex.value);
      if (result.problem) problems.push(result.problem);
      if (result.message) messages.push(result.message);
    } else {
      const advice = 'Send a frame with its id, 18FECA00#00FF00000000FFFF, or a message by name, DM1 00FF00000000FFFF.';
      problems.push(refused('frame_invalid', `"${line.slice(0, 40)}" has no 29-bit id`, advice).problem);
    }
  }
  problems.push(...transport.finish());
  // Address 0 first: where several modules send one number, its answer is taken.
  return messages.sort((first, second) => first.source - second.source);
}

function takeMessage({ pgn, source, data }: J1939Message, found: Found): void {
  const dm = dmOfPgn(pgn);
  if (dm === null) return;
  if (isFaultListDm(dm)) {
    const status = STATUS_OF_DM[dm];
    if (status === undefined) return;
    const list = decodeFaultList(data);
    if (!list.ok) {
      found.problems.push(list.problem);
      return;
    }
    found.read.add(status);
    found.answered.add(status, `SA${source}`);
    if (list.value.lamps.mil === 'on' || list.value.lamps.mil === 'off') found.read.add('lamp');
    found.mil.add(list.value.lamps.mil);
    found.codes.push(...list.value.faults.map((fault) => codeOf(fault, status, source)));
  } else if (dm === 'DM5') {
    const dm5 = decodeDm5(data);
    if (!dm5.ok) found.problems.push(dm5.problem);
    else if (dm5.value.monitors.some((monitor) => monitor.supported)) {
      found.read.add('monitors');
      found.monitors.push(dm5.value.monitors);
    }
  } else {
    takeCounters(dm === 'DM21' ? decodeDm21(data) : decodeDm26(data), found);
  }
}

function takeCounters({ secondsSinceStart: _, ...counters }: ReturnType<typeof decodeDm21>, found: Found): void {
  if (Object.keys(counters).length === 0) return;
  found.read.add('counters');
  found.counters = { ...counters, ...found.counters };
}

function codeOf(fault: J1939Fault, status: RawSnapshotCode['status'], source: number): RawSnapshotCode {
  const code: RawSnapshotCode = { code: faultName(fault), status, module: `SA${source}` };
  return fault.occurrences === null ? code : { ...code, occurrences: fault.occurrences };
}

function spnValueOf(messages: readonly J1939Message[], spn: number): number | undefined {
  const row = spnRow(spn);
  if (!row) return undefined;
  for (const message of messages) {
    if (message.pgn !== row.pgn) continue;
    const { value } = decodeSpn(row, message.data);
    if (value !== null) return value;
  }
  return undefined;
}

function vinOf(messages: readonly J1939Message[]): string | undefined {
  for (const { pgn, data } of messages) {
    const text = pgn === PGN_VIN ? (String.fromCharCode(...data.subarray(0, 200)).split('*')[0] ?? '') : '';
    if (isVinWellFormed(text)) return text.trim().toUpperCase();
  }
  return undefined;
}
