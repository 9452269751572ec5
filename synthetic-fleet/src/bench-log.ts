import { HEALTHY } from './faults/kinds.js';
import { type VehicleClassId, vehicleClass } from './fleet/classes.js';
import { DriveSimulation } from './physics/drive.js';
import { planLegs, Route } from './physics/route.js';
import { RandomStream } from './random.js';
import { type ChannelRow, type RowContext } from './recorder/channel-row.js';
import { CHANNELS } from './recorder/channels.js';
import { dialect } from './recorder/dialects.js';
import { LogWriter } from './recorder/log.js';

export interface BenchLogOptions {
  seed: number | string;
  /** Data rows, ten a second. Default 36,000: one hour. */
  rows?: number;
  /** Channels beside the timestamp. Default 60. */
  columns?: number;
}

const BENCH_CLASS: VehicleClassId = 'diesel_flatbed';
/** 2026-09-07T14:00:00Z */
const BENCH_START_MS = Date.UTC(2026, 8, 7, 14);

/**
 * One plain log for speed measurements, in chunks: comma, UTF-8, ISO 8601 UTC time, units in parentheses, one vehicle's
 * consistent physics at ten rows a second. Channels are the catalogue's as far as they go. Deterministic.
 */
export function* benchLog(options: BenchLogOptions): Generator<Uint8Array> {
  const { seed, rows = 36_000, columns = 60 } = options;
  const random = new RandomStream(`bench/${seed}`);
  const simulation = benchDrive(random, rows);
  const writer = benchWriter(random, columns);
  const { state } = simulation;
  const context: RowContext = {
    vehicle: vehicleClass(BENCH_CLASS),
    coolantReadingC: 0,
    lampKm: 0,
    sinceClearKm: 812,
    sinceClearMinutes: 1430,
    warmUpsSinceClear: 21,
  };
  for (let row = 0; row < rows && simulation.tick(); row += 1) {
    context.coolantReadingC = state.coolantC;
    const bytes = writer.tick(state, context);
    if (bytes) yield bytes;
  }
  yield writer.finish();
}

function benchDrive(random: RandomStream, rows: number): DriveSimulation {
  const row = vehicleClass(BENCH_CLASS);
  const seconds = Math.ceil(rows / 10) + 1;
  const legs = planLegs(row, { seconds, must: ['climb'], atOnce: false }, random.split('legs'));
  return new DriveSimulation({
    model: { row, massKg: random.int(...row.massKg), condition: HEALTHY, baroKpa: 86 },
    carried: { coolantC: 24, oilC: 24, transC: 24, odometerKm: 61_234, engineHoursH: 1873, fuelL: 92, sootPct: 35 },
    route: new Route(legs, random.split('road')),
    ambientC: random.range(12, 34),
    ambientKPerHour: 1,
    keyOnSeconds: 2,
    trailerKg: 0,
    elevationM: 1300,
    latitude: 41,
    longitude: -107,
    headingDeg: 90,
    airConditioning: 1,
  });
}

function benchWriter(random: RandomStream, columns: number): LogWriter {
  return new LogWriter({
    dialect: dialect('plain-iso'),
    channels: benchChannels(columns),
    identity: { recorder: 'bench', vehicle: 'bench', vin: '', startMs: BENCH_START_MS, offsetMinutes: 0, rateHz: 10 },
    startMs: BENCH_START_MS,
    offsetMinutes: 0,
    rateHz: 10,
    quirks: {
      cutLastRow: false,
      restart: null,
      stepBack: null,
      damagedRows: [],
      duplicated: false,
      lateWeeks: 0,
      driverMarksS: [],
    },
    sensorFault: null,
    idealSensors: false,
    random,
  });
}

/** The vehicle's own channels first; where they do not fill the table, other vehicles' channels, then numbered spares. */
function benchChannels(columns: number): ChannelRow[] {
  const own = CHANNELS.filter((channel) => channel.onlyIf(vehicleClass(BENCH_CLASS)) && !UNKNOWN.has(channel.key));
  const others = CHANNELS.filter((channel) => !own.includes(channel) && !UNKNOWN.has(channel.key));
  const known = [...own, ...others].slice(0, columns);
  const spares = Array.from({ length: columns - known.length }, (_, index) => spare(index + 1));
  return [...known, ...spares];
}

/** Channels of the table that no catalogue lists. */
const UNKNOWN = new Set(['vacuum', 'thermostat_pct', 'cabin_blower']);

function spare(number: number): ChannelRow {
  const name = `Spare ${number}`;
  return {
    key: `spare_${number}`,
    kind: 'plain',
    unit: 'V',
    decimals: 2,
    quantum: 0.01,
    noise: 0.05,
    value: (state) => 2.5 + Math.sin(state.clockS / (40 + number)),
    names: { en: name, short: name, de: name, es: name },
    onlyIf: () => true,
  };
}
