// candump -l text: layout of the public can-utils, from memory; J1939 and ISO 15765-4 payloads built from the tables.
import {
  type CaptureHints,
  type CapturePlan,
  createCandumpReader,
  planCandump,
  type SampleBatch,
  sniffCandump,
} from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const encode = (text: string) => new TextEncoder().encode(text);

function plan(text: string, hints: CaptureHints = {}): CapturePlan {
  const planned = planCandump(encode(text), hints);
  if (!planned.ok) throw new Error(planned.problem.detail);
  return planned.plan as CapturePlan;
}

/** Every row with a value as `row time signal=value`, every row as `row time`, the side list as `row header: text`. */
function rows(text: string, hints: CaptureHints = {}, cuts: number[] = []) {
  const made = plan(text, hints);
  const samples: string[] = [];
  const clock: string[] = [];
  const side: string[] = [];
  const reader = createCandumpReader(made, (batch: SampleBatch) => {
    for (let row = 0; row < batch.rowCount; row++) {
      const values = made.signals.flatMap((id, column) => {
        const value = batch.values[column]?.[row] ?? Number.NaN;
        return Number.isNaN(value) ? [] : [`${id}=${value}`];
      });
      clock.push(`${batch.row[row]} ${batch.timeMs[row]}`);
      if (values.length > 0) samples.push(`${batch.row[row]} ${batch.timeMs[row]} ${values.join(' ')}`);
    }
    side.push(...batch.unmapped.map((cell) => `${cell.row} ${made.channels[cell.channel]?.header}: ${cell.text}`));
  });
  const bytes = encode(text);
  const edges = [0, ...cuts.map((cut) => cut % (bytes.length + 1)).sort((a, b) => a - b), bytes.length];
  for (let index = 1; index < edges.length; index++) reader.push(bytes.subarray(edges[index - 1], edges[index]));
  const counts = reader.finish();
  return { plan: made, samples, clock, side, counts, report: reader.report() };
}

const ET1 = '(1648577125.370750) can1 18FEEE00#87FFE02FFFFFFFFF';
const EEC1 = '(1648577125.400000) can1 0CF00400#F0FFC8E02EFFFFFF';

describe('planCandump', () => {
  it('tells a capture from a table', () => {
    expect(sniffCandump(encode(ET1))).toBe(true);
    expect(sniffCandump(encode('Time,ECT\n0,90\n1,91\n'))).toBe(false);
    expect(planCandump(new Uint8Array(0))).toMatchObject({ ok: false, problem: { code: 'body_empty' } });
    expect(planCandump(encode('a,b\n1,2\n'))).toMatchObject({ ok: false, problem: { code: 'log_unreadable' } });
  });

  it('is plain JSON and reads the time as it stands', () => {
    const made = plan(ET1);
    expect(JSON.parse(JSON.stringify(made))).toEqual(made);
    expect(made.time).toMatchObject({ kind: 'absolute', timeZone: 'UTC', startMs: 1_648_577_125_370.75 });
  });

  it('counts from the given start when the clock starts at zero', () => {
    const text = '(000.000000) can1 18FEEE00#87FFFFFFFFFFFFFF\n(001.500000) can1 18FEEE00#88FFFFFFFFFFFFFF\n';
    expect(plan(text).time).toMatchObject({ kind: 'elapsed', startMs: null });
    const { samples } = rows(text, { recordedAtMs: 1_700_000_000_000 });
    expect(samples).toEqual(['1 1700000000000 coolant_temp_c=95', '2 1700000001500 coolant_temp_c=96']);
  });

  it('prefers address 0, keeps other senders in the side list with their address', () => {
    const text = [
      '(1.0) can1 18FEF121#FF0020FFFFFFFFFF',
      '(2.0) can1 18FEF100#FF0058FFFFFFFFFF',
      '(3.0) can1 18FEF121#FF0021FFFFFFFFFF',
      '(4.0) can1 18FEF121#FF0021FFFFFFFFFF',
    ].join('\n');
    const { samples, side } = rows(`${text}\n`);
    expect(samples).toEqual(['2 2000 vehicle_speed_kmh=88']);
    expect(side).toEqual(['1 SPN 84 SA 33: 32', '3 SPN 84 SA 33: 33']);
  });

  it('takes another sender when address 0 has no value', () => {
    const text = '(1.0) can1 18FEF100#FFFFFFFFFFFFFFFF\n(2.0) can1 18FEF121#FF0058FFFFFFFFFF\n';
    expect(rows(text).samples).toEqual(['2 2000 vehicle_speed_kmh=88']);
  });

  it('reads a signal that was not in the head, from its usual owner', () => {
    const made = plan(`${ET1}\n`);
    expect(made.signals).toContain('trans_fluid_temp_c');
    const reader = createCandumpReader(made, (batch) => {
      expect(batch.values[made.signals.indexOf('trans_fluid_temp_c')]?.[0]).toBe(100);
    });
    reader.push(encode('(1648577126.0) can1 18FEF803#FFFFFFFFA02EFFFF\n'));
    expect(reader.finish().rows).toBe(1);
    expect.assertions(3);
  });

  it('multiplies speed by the given factor and says so', () => {
    const text = '(1.0) can1 18FEF100#FF0058FFFFFFFFFF\n';
    const { samples, plan: made } = rows(text, { speedFactor: 1.5 });
    expect(samples).toEqual(['1 1000 vehicle_speed_kmh=132']);
    expect(made.channels.find((channel) => channel.signal === 'vehicle_speed_kmh')?.why).toContain('times 1.5');
  });

  it('lets a profile set a channel aside', () => {
    const profile = { channels: { 'SPN 110 SA 0': { signal: null } } };
    const { samples, side } = rows(`${ET1}\n`, { profile });
    expect(samples[0]).not.toContain('coolant');
    expect(side).toEqual(['1 SPN 110 SA 0: 95']);
  });
});

describe('createCandumpReader', () => {
  it('counts half-written lines and skips them', () => {
    const broken = [
      ET1,
      '(1648577125.37',
      '(1648577125.380000) can1 18FEEE00',
      '(1648577125.380000) can1 18FEEE00#87FFE',
      '(1648577125.380000) can1 18FEEE00#87FFE02FFFFFFFFFFF',
      '(1648577125.3800(1648577125.390000) can1 18FEEE00#87FFE02FFFFFFFFF',
      '(1648577125.380000) can1 98FEEE00Z#00',
      '7FFE02FFFFFFFFF',
      '',
      EEC1,
    ].join('\r\n');
    const { counts, samples, report } = rows(broken + `\r\n${EEC1}`.repeat(7));
    expect(counts).toMatchObject({
      rows: 16,
      rowsRejectedBy: { line_cut: 7 },
      firstRows: { line_cut: [2, 3, 4, 5, 6] },
    });
    expect(samples.map((sample) => sample.split(' ')[0])).toEqual(['1', '9', '10', '11', '12', '13', '14', '15', '16']);
    expect(report).toMatchObject({ lines: 16, malformed: 7 });
  });

  it('keeps the clock of the whole capture: first, last, around gaps and steps back', () => {
    const times = ['1.00', '1.01', '1.02', '9.00', '9.01', '8.00', '8.01', '8.02'];
    const { clock, samples } = rows(times.map((time) => `(${time}) can1 18FFFF21#00`).join('\n'));
    expect(samples).toEqual([]);
    expect(clock).toEqual(['1 1000', '3 1020', '4 9000', '5 9010', '6 8000', '8 8020']);
  });

  it('skips remote requests, error frames, and a line without end', () => {
    const text = `(1.0) can1 123#R\n(2.0) can1 20000004#0000000000000000\n${'x'.repeat(5000)}\n${ET1}`;
    const { counts, samples } = rows(text);
    expect(counts).toMatchObject({ rows: 4, rowsRejectedBy: { line_too_long: 1 } });
    expect(samples).toHaveLength(1);
  });

  it('gives the same samples wherever the bytes are cut (property)', () => {
    const text = [
      ET1,
      EEC1,
      'half',
      '(1648577125.5) can1 18ECFF00#20120003FFCAFE00',
      EEC1,
      '(1648577126.5) can1 18FEEE00#88',
    ].join('\n');
    const whole = rows(text);
    fc.assert(
      fc.property(fc.array(fc.nat(2000), { maxLength: 12 }), (cuts) => {
        const cut = rows(text, {}, cuts);
        expect([cut.samples, cut.clock, cut.side, cut.counts, cut.report]).toEqual([
          whole.samples,
          whole.clock,
          whole.side,
          whole.counts,
          whole.report,
        ]);
      }),
      { numRuns: 60 },
    );
  });

  it('keeps several interfaces apart', () => {
    const text = [
      '(1.0) can0 18ECFF00#20120003FFCAFE00',
      '(1.1) can1 18ECFF00#20120003FFCAFE00',
      '(1.2) can0 18EBFF00#0140FF5B0003015C',
      '(1.3) can1 18EBFF00#0100FF5B0003015C',
      '(1.4) can1 18EBFF00#020004025D000503',
      '(1.5) can1 18EBFF00#035E000604FFFFFF',
    ].join('\n');
    const { report } = rows(text);
    expect(report.buses).toEqual(['can0', 'can1']);
    expect(report.faults.map((fault) => fault.bus)).toEqual(['can1', 'can1', 'can1', 'can1']);
    expect(report.problems).toMatchObject([{ code: 'frame_incomplete', count: 1 }]);
  });

  it('reads diagnostic answers between the broadcasts (ISO 15765-4)', () => {
    const text = [
      '(1.0) can0 7DF#0201050000000000',
      '(1.1) can0 7E8#0341057B00000000',
      '(1.2) can0 7E8#100B41780D061F01',
      '(1.3) can0 7E8#21900 3DA'.replace(' ', ''),
      '(2.2) can0 7E8#100B41780D061F01',
      '(2.3) can0 7E8#219003DA02A60000',
      '(2.4) can0 7E9#0341057C00000000',
      '(3.0) can0 7E8#0643020133021700',
      '(3.1) can0 7E8#0641018107650400',
    ].join('\n');
    const { samples, side, report, counts } = rows(text);
    expect(samples).toEqual(['2 1100 coolant_temp_c=83', '6 2300 exhaust_gas_temp_c=116.7']);
    expect(side).toEqual(['7 PID 05 coolant_temp 7E9 can0: 84']);
    expect(counts.rowsRejectedBy).toEqual({ line_cut: 1 });
    expect(report.responses).toMatchObject([
      { module: '7E8', service: '03', codes: ['P0133', 'P0217'] },
      { module: '7E8', service: '01' },
    ]);
  });

  // SAE J1979 (layout from memory): byte D of PID 4F is the full scale of manifold pressure in tens of kPa.
  it('reads a parameter on the full scale that its module announced, from then on', () => {
    const text = [
      '(1.0) can0 7E8#03410B4000000000',
      '(1.1) can0 7E8#06414F0000006400',
      '(1.2) can0 7E9#03410BFF00000000',
      '(1.3) can0 7E8#03410BFF00000000',
    ].join('\n');
    const { samples, side } = rows(text);
    expect(samples).toEqual(['1 1000 manifold_pressure_kpa=64', '4 1300 manifold_pressure_kpa=1000']);
    expect(side).toEqual(['3 PID 0B map_abs 7E9 can0: 255']);
  });

  it('finds the VIN of the vehicle', () => {
    const vin = Buffer.from('1M8GDM9AXKP042788*').toString('hex').toUpperCase();
    const text = [
      '(1.0) can1 18ECFF00#20120003FFECFE00',
      `(1.1) can1 18EBFF00#01${vin.slice(0, 14)}`,
      `(1.2) can1 18EBFF00#02${vin.slice(14, 28)}`,
      `(1.3) can1 18EBFF00#03${vin.slice(28)}FFFFFF`,
    ].join('\n');
    expect(plan(`${text}\n`).vin).toBe('1M8GDM9AXKP042788');
  });

  it('numbers lines from where a later part starts', () => {
    const made = plan(`${ET1}\n`);
    let first = 0;
    const reader = createCandumpReader(
      made,
      (batch) => {
        first = batch.row[0] ?? 0;
      },
      { firstRow: 501 },
    );
    reader.push(encode(`${ET1}\n`));
    reader.finish();
    expect(first).toBe(501);
  });
});

describe('signals of a description file', () => {
  const dbc = [
    'VERSION ""',
    'BO_ 2566844158 ET1: 8 Vector__XXX',
    ' SG_ RadiatorOut : 8|8@1+ (1,-40) [-40|210] "degC" Vector__XXX',
    'CM_ SG_ 2566844158 RadiatorOut "comments are ignored";',
    'BO_ 291 Box: 8 X',
    ' SG_ Page M : 0|4@1+ (1,0) [0|15] "" X',
    ' SG_ coolant_temp_2_c m1 : 15|12@0- (0.5,0) [0|0] "degF" X',
    ' SG_ broken : 8|8@1+ (1',
  ].join('\n');

  it('feeds catalogue signals, converts their unit, honours multiplexing and byte order', () => {
    const text = [
      '(1.0) can0 123#0119C0AAAAAAAAAA', // page 1: 0x19C = 412 -> 206 degF
      '(2.0) can0 123#0219C0AAAAAAAAAA', // another page
      '(3.0) can0 123#01FFE0AAAAAAAAAA', // -2 -> -1 degF
      '(4.0) can0 123#01',
    ].join('\n');
    const { samples, plan: made } = rows(text, { dbc });
    expect(samples).toHaveLength(2);
    expect(samples[0]).toMatch(/^1 1000 coolant_temp_2_c=96\.6+/);
    expect(samples[1]).toMatch(/^3 3000 coolant_temp_2_c=-18\.3+/);
    expect(made.decisions.find((decision) => decision.what === 'signal description')?.why).toContain('1 lines');
  });

  it('matches a J1939 group of any sender where the description says FE, and takes its signals by profile', () => {
    const profile = { channels: { 'ET1.RadiatorOut': { signal: 'coolant_temp_2_c' } } };
    expect(rows(`${ET1.replace('87FF', '8770')}\n`, { dbc, profile }).samples[0]).toContain('coolant_temp_2_c=72');
    // Beyond the stated range (FF = not available) there is no value.
    expect(rows(`${ET1}\n`, { dbc, profile }).samples[0]).not.toContain('coolant_temp_2_c');
    expect(rows(`${ET1.replace('87FF', '8770')}\n`, { dbc }).side).toContain('1 ET1.RadiatorOut: 72');
  });
});
