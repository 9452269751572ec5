import type { SnapshotInput } from '@tallybay/contracts';
import { DEFAULT_RULES, SIGNAL_LIMIT_ROWS } from '@tallybay/risk';
import { SETTINGS } from '../settings/setting-table.js';

/** Name -> a body to send. */
type Examples = Readonly<Record<string, unknown>>;

const NORTHGATE = { id: 'northgate', name: 'Northgate', timeZone: 'America/Denver' };

const FLATBED = {
  id: 'KV-203',
  name: 'Flatbed 3',
  vehicleClass: 'diesel_flatbed',
  depot: 'northgate',
  route: 'Reservoir road',
  modelYear: 2019,
  fuel: 'diesel',
  inspectionDue: '2027-03-31',
};

const READ_SNAPSHOT: SnapshotInput = {
  vehicle: 'KV-203',
  time: '2026-11-24T07:05:00-07:00',
  odometerKm: 84_210,
  lampOn: true,
  ignition: 'compression',
  codes: [{ code: 'P0217', status: 'confirmed', module: '7E8' }],
  monitors: [{ id: 'pm_filter', supported: true, complete: false }],
  counters: { warmUpsSinceClear: 3, distanceSinceClearKm: 118 },
};

/** Answers to service 03 (one code, P0217) and service 01 PID 01 as frames with their CAN identifier (ISO 15765-4). */
const RAW_SNAPSHOT: SnapshotInput = {
  vehicle: 'KV-203',
  time: '2026-11-24T07:05:00-07:00',
  raw: { transport: 'can', responses: ['7E8 04 43 01 02 17', '7E8 06 41 01 81 0F EB 40'] },
};

const HOTTEST = `SELECT vehicle_id, max(max) AS highest_c FROM dwell
WHERE signal = 'coolant_temp_c' AND started_at >= $since GROUP BY vehicle_id ORDER BY highest_c DESC`;

/**
 * Bodies that work, by operation, from the Kestrel Valley Water District: a schema tells what is allowed, not what one sends.
 * Settings show their standard.
 */
export const REQUEST_EXAMPLES: Readonly<Record<string, Examples>> = {
  'POST /v1/snapshots': { 'values read': READ_SNAPSHOT, 'answers as bytes': RAW_SNAPSHOT },
  'POST /v1/uploads/{id}/release': {
    'the vehicle': { vehicle: 'KV-203' },
    'the start of its clock': { recordedAt: '2026-11-24T07:05:00-07:00' },
    'the zone of its clock': { timeZone: 'America/Denver' },
  },
  'POST /v1/decode-again': { 'one week of a vehicle': { vehicle: 'KV-203', week: '2026-W47' } },
  'POST /v1/dead-letters/replay': { 'all that are still failed': {} },

  'POST /v1/fleet': {
    fleet: {
      name: 'Kestrel Valley Water District',
      depots: [NORTHGATE],
      vehicles: [FLATBED],
      assignments: [{ recorder: 'R-0203', vehicle: 'KV-203', from: '2026-01-05T06:00:00-07:00' }],
    },
  },
  'PUT /v1/depots/{id}': { depot: NORTHGATE },
  'PUT /v1/vehicles/{id}': {
    vehicle: FLATBED,
    'on larger tyres': {
      ...FLATBED,
      speedCorrections: [{ from: '2026-05-04T00:00:00-06:00', tyreSetFor: '225/70R19.5', tyreFitted: '245/70R19.5' }],
    },
  },
  'POST /v1/vehicles/{id}/notes': { note: { text: 'Fan clutch felt loose by hand', by: 'R. Amsel' } },
  'POST /v1/vehicles/{id}/extremes/resets': {
    'after a repair': { signals: ['coolant_temp_c'], by: 'R. Amsel', reason: 'Radiator replaced' },
    'every signal': { by: 'R. Amsel', reason: 'Moved to another route' },
  },
  'POST /v1/recordings/{upload}/markers': {
    marker: { text: 'Steam seen at the dam', by: 'R. Amsel', at: '2026-11-24T07:41:10-07:00' },
  },
  'POST /v1/recorders/{recorder}/assignments': { moved: { vehicle: 'KV-203', from: '2026-11-02T06:00:00-07:00' } },
  'PUT /v1/profiles/{id}': {
    'a recorder with semicolons': {
      id: 'R-0203',
      recorder: 'R-0203',
      timeZone: 'America/Denver',
      delimiter: ';',
      decimal: ',',
      dateOrder: 'dmy',
      channels: { 'Temp 2': { signal: 'engine_oil_temp_c', unit: '°F' }, Spare: { signal: null } },
    },
  },

  'PUT /v1/settings/{name}': Object.fromEntries(
    Object.entries(SETTINGS).map(([name, { standard }]) => [`${name}, as it is at first`, standard]),
  ),
  'POST /v1/rankings/preview': { 'codes count more': { weights: { ...DEFAULT_RULES.weights, codes: 0.9 }, weeks: 4 } },
  'POST /v1/limits/trial': {
    'alarms 5 °C earlier': {
      week: '2026-W47',
      stages: DEFAULT_RULES.stages.map((row) => (row.stage === 'alarm' ? { ...row, valueC: row.valueC - 5 } : row)),
    },
  },
  'POST /v1/limits/crossings-trial': { 'the first limits': { week: '2026-W47', limits: SIGNAL_LIMIT_ROWS } },

  'POST /v1/query': {
    'named parameters': { sql: HOTTEST, parameters: { since: '2026-11-01' }, shape: 'objects' },
    'what it would do': { sql: 'SELECT count(*) FROM samples', explain: 'plan' },
  },
  'POST /v1/query-results': {
    'kept for a link': { sql: HOTTEST, parameters: { since: '2026-11-01' }, name: 'Hottest since November' },
  },
  'PUT /v1/query/limits': {
    limits: {
      everyone: { rows: 1_000_000, seconds: 60, memoryMb: 512, atOnce: 2 },
      people: { 'R. Amsel': { seconds: 600, memoryMb: 2_048 } },
    },
  },
  'PUT /v1/questions/{id}': {
    'each Monday': {
      name: 'Hottest vehicles',
      sql: HOTTEST,
      parameters: { since: '2026-11-01' },
      description: 'Highest coolant temperature by vehicle',
      schedule: { pattern: '0 6 * * 1', timeZone: 'America/Denver' },
    },
  },

  'POST /v1/plan': { 'a longer search': { seconds: 60 } },
  'POST /v1/plan/visits/{id}/move': { move: { bay: 'north-pit', day: '2026-12-01' } },
  'POST /v1/plan/visits/{id}/pin': { pin: { pinned: true } },
  'POST /v1/plan/visits/{id}/book': { book: {} },
  'POST /v1/plan/visits/{id}/start': { start: {} },
  'POST /v1/plan/visits/{id}/done': {
    done: { findings: 'Radiator fins blocked by mud; cleaned', parts: [{ name: 'coolant, litres', count: 4 }] },
  },
  'POST /v1/plan/visits/{id}/decline': { decline: { reason: 'Vehicle is out of service until the new year' } },
  'POST /v1/notices/seen': { seen: { ids: ['top 2026-W47 KV-203'] } },
};
