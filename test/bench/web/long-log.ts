/** 2026-09-07T06:00:00Z */
const START_MS = Date.UTC(2026, 8, 7, 6);
const ROWS_PER_SECOND = 10;
const BLOCK_ROWS = 6000;

/** Channels of the log: name, start, step of the walk, bounds, digits after the point. */
const CHANNELS = [
  { name: 'Engine coolant temperature (degC)', at: 85, step: 0.1, low: 70, high: 104, digits: 1 },
  { name: 'Engine oil temperature (degC)', at: 95, step: 0.1, low: 80, high: 118, digits: 1 },
  { name: 'Transmission fluid temperature (degC)', at: 80, step: 0.1, low: 60, high: 108, digits: 1 },
  { name: 'Intake air temperature (degC)', at: 30, step: 0.1, low: 15, high: 60, digits: 1 },
  { name: 'Engine load (%)', at: 40, step: 4, low: 0, high: 90, digits: 1 },
  { name: 'Throttle position (%)', at: 30, step: 4, low: 0, high: 100, digits: 1 },
  { name: 'Engine speed (rpm)', at: 1500, step: 60, low: 650, high: 3000, digits: 0 },
  { name: 'Vehicle speed (km/h)', at: 60, step: 0.5, low: 5, high: 110, digits: 1 },
] as const;

export const LONG_LOG = { signals: CHANNELS.length, spikeSignal: 'engine_load_pct', spikeValue: 100 };

/** One log of so many hours, 10 rows a second, with one sample of engine load that stands alone in its middle. Seeded. */
export async function* longLog(hours: number, seed: number): AsyncGenerator<Buffer> {
  const rows = hours * 3600 * ROWS_PER_SECOND;
  const spikeRow = Math.floor(rows / 2);
  const chance = lehmer(seed);
  const values = CHANNELS.map(({ at }) => at as number);
  yield Buffer.from(`Time,${CHANNELS.map(({ name }) => name).join(',')}\n`);
  for (let from = 0; from < rows; from += BLOCK_ROWS) {
    const lines: string[] = [];
    for (let row = from; row < Math.min(rows, from + BLOCK_ROWS); row++) {
      const cells = CHANNELS.map((channel, index) => {
        const next = values[index]! + (chance() - 0.5) * 2 * channel.step;
        values[index] = Math.min(channel.high, Math.max(channel.low, next));
        const spike = row === spikeRow && channel.name.startsWith('Engine load');
        return (spike ? LONG_LOG.spikeValue : values[index]!).toFixed(channel.digits);
      });
      lines.push(`${new Date(START_MS + row * (1000 / ROWS_PER_SECOND)).toISOString()},${cells.join(',')}\n`);
    }
    yield Buffer.from(lines.join(''));
  }
}

/** Park and Miller's minimal standard generator (Communications of the ACM 31, 1988): 0..1. */
function lehmer(seed: number): () => number {
  let state = (seed % 2_147_483_646) + 1;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}
