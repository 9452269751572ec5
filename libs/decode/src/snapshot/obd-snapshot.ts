import type { UdsCode } from '../codes/uds.js';
import type { Ignition, MonitorState, MonitorStatus } from '../obd/monitor-status.js';
import type { PidReading } from '../obd/pid.js';
import type { DiagnosticTransport } from '../obd/response-text.js';
import { decodeResponses } from '../obd/service.js';
import { isVinWellFormed } from '../vin/vin.js';
import { AnsweredModules, compact, distinctCodes, mergeMonitors } from './merge.js';
import type { RawSnapshot, RawSnapshotCode, RawSnapshotCounters, SnapshotPart } from './raw-snapshot.js';

/** PIDs that a clear resets, or that run while the lamp is on. */
const COUNTERS: Readonly<Record<string, keyof RawSnapshotCounters>> = {
  '30': 'warmUpsSinceClear',
  '31': 'distanceSinceClearKm',
  '4E': 'minutesSinceClear',
  '21': 'distanceWithLampKm',
  '4D': 'minutesWithLamp',
};

interface Found {
  codes: RawSnapshotCode[];
  read: Set<SnapshotPart>;
  answered: AnsweredModules;
  statuses: MonitorStatus[];
  readings: PidReading[];
  vin: string | undefined;
}

/** Services 01, 03, 07, 09, 0A and 19 of any number of modules. */
export function readObdSnapshot(responses: readonly string[], transport: DiagnosticTransport): RawSnapshot {
  const decoded = decodeResponses(responses, transport);
  const found: Found = {
    ...{ codes: [], read: new Set(), answered: new AnsweredModules(), statuses: [], readings: [], vin: undefined },
  };
  // The engine's module answers on the lowest id; where several give one number, its answer is taken.
  const ordered = decoded.responses.toSorted((first, second) =>
    (first.module ?? '') < (second.module ?? '') ? -1 : 1,
  );
  for (const response of ordered) {
    const module = response.module === null ? {} : { module: response.module };
    switch (response.service) {
      case '01':
        for (const reading of response.readings) takeReading(reading, found);
        break;
      case '03':
      case '07':
      case '0A':
        found.read.add(response.status);
        found.answered.add(response.status, response.module);
        for (const code of response.codes) found.codes.push({ code, status: response.status, ...module });
        break;
      case '19':
        found.read.add('confirmed').add('pending');
        found.answered.add('confirmed', response.module);
        found.answered.add('pending', response.module);
        found.codes.push(...response.codes.flatMap((code) => udsCode(code, module)));
        break;
      case '09':
        if (response.info.kind === 'vin') found.vin ??= response.info.items.find(isVinWellFormed);
        break;
      default:
        break; // freeze frames and acknowledged clears say nothing about the state now
    }
  }
  const withMonitors = found.statuses.filter((status) => status.monitors.some((monitor) => monitor.supported));
  return compact({
    codes: codesRead(found.read) ? distinctCodes(found.codes) : undefined,
    lampOn: found.statuses.length > 0 ? found.statuses.some((status) => status.lampOn === true) : undefined,
    ignition: (withMonitors[0] ?? found.statuses[0])?.ignition,
    monitors: mergeMonitors(sameIgnition(withMonitors.length > 0 ? withMonitors : found.statuses)),
    counters: countersOf(found.readings, found.read),
    odometerKm: numberOf(found.readings, 'A6', 'odometer'),
    engineHours: hoursOf(found.readings),
    vin: found.vin,
    read: [...found.read],
    modulesRead: found.answered.result(),
    problems: decoded.problems,
  });
}

function codesRead(read: Set<SnapshotPart>): boolean {
  return read.has('confirmed') || read.has('pending') || read.has('permanent');
}

function takeReading(reading: PidReading, found: Found): void {
  found.readings.push(reading);
  if (reading.pid === '01' && reading.monitorStatus) {
    found.statuses.push(reading.monitorStatus);
    found.read.add('lamp').add('monitors');
  }
}

/** Monitors of the other ignition would be other monitors under the same bits: only those of the first module's kind. */
function sameIgnition(statuses: MonitorStatus[]): MonitorState[][] {
  const ignition: Ignition | undefined = statuses[0]?.ignition;
  return statuses.filter((status) => status.ignition === ignition).map((status) => status.monitors);
}

/** A code whose status says neither pending nor confirmed is history and is left out. */
function udsCode({ code, ftb, status }: UdsCode, module: { module?: string }): RawSnapshotCode[] {
  const state = status.includes('confirmedDTC') ? 'confirmed' : status.includes('pendingDTC') ? 'pending' : null;
  return state === null ? [] : [{ code, status: state, ...module, failureType: ftb }];
}

function countersOf(readings: readonly PidReading[], read: Set<SnapshotPart>): RawSnapshotCounters | undefined {
  const counters: RawSnapshotCounters = {};
  for (const reading of readings) {
    const key = COUNTERS[reading.pid];
    const value = reading.values[0]?.value;
    if (key && typeof value === 'number') counters[key] ??= value;
  }
  if (Object.keys(counters).length === 0) return undefined;
  read.add('counters');
  return counters;
}

function numberOf(readings: readonly PidReading[], pid: string, field: string): number | undefined {
  const values = readings.filter((reading) => reading.pid === pid).flatMap((reading) => reading.values);
  const value = values.find((item) => item.field === field)?.value;
  return typeof value === 'number' ? value : undefined;
}

function hoursOf(readings: readonly PidReading[]): number | undefined {
  const seconds = numberOf(readings, '7F', 'total_run_time');
  return seconds === undefined ? undefined : seconds / 3600;
}
