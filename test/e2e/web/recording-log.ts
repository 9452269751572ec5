/** A log made for reading it back: what stands where is known to the test. */
export const LOG = {
  startMs: Date.UTC(2026, 8, 7, 14),
  rows: 24_000,
  stepMs: 100,
  /** One sample of engine load that stands alone. */
  spikeRow: 9001,
  spike: 100,
  /** Coolant at 118 °C, above 240 °F (115.6 °C), for two minutes. */
  hot: { from: 15_000, to: 16_200, coolantC: 118 },
  markerRow: 3000,
  marker: 'grade begins',
  /** A channel that no catalogue knows, and one of words. */
  pump: { header: 'Jetter pump; stage ~2 (V)', spikeRow: 12_001, spike: 9.75 },
  words: 'Auger bay mode',
};

export const timeOf = (row: number): number => LOG.startMs + row * LOG.stepMs;
export const loadOf = (row: number): number => (row === LOG.spikeRow ? LOG.spike : 20 + (row % 40) / 2);
export const coolantOf = (row: number): number => {
  const { from, to, coolantC } = LOG.hot;
  // Warms and cools no faster than a coolant can: a jump would be left out as a sensor's.
  const apart = row < from ? from - row : row > to ? row - to : 0;
  return Math.max(88, coolantC - apart / 40);
};

/** 40 minutes at ten rows a second, as a recorder would write them. */
export function recordingLog(): string {
  const lines = [
    `Time,Engine coolant temperature (degC),Engine load (%),Vehicle speed (km/h),Engine speed (rpm),Marker,${LOG.pump.header},${LOG.words}`,
  ];
  for (let row = 0; row < LOG.rows; row++) {
    const cells = [coolantOf(row).toFixed(1), loadOf(row).toFixed(1), (60 + (row % 70) / 10).toFixed(1), '1500'];
    const aside = [row === LOG.pump.spikeRow ? `${LOG.pump.spike}` : '2.5', row < 8000 ? 'idle' : 'jetting'];
    lines.push(
      [new Date(timeOf(row)).toISOString(), ...cells, row === LOG.markerRow ? LOG.marker : '', ...aside].join(','),
    );
  }
  return `${lines.join('\n')}\n`;
}
