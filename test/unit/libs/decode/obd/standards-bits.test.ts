// SAE J1979 bit-coded parameters, support bitmaps, monitor status; SAE J2012 codes. Sources: heads of the tables, and beside rows.
import {
  bytesFromTroubleCode,
  decodeMonitorStatus,
  decodePid,
  decodeSupportedPids,
  hexFromBytes,
  troubleCodeOrNull,
} from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { bytesOf, standardsTable } from '../standards-tables.js';

const names = (text = '-') => (text === '-' ? [] : text.split(' '));

describe('monitor status', () => {
  it.each(standardsTable('monitor-status'))('%s', (hex, lamp, count, ignition, supported, incomplete) => {
    for (const scope of ['since-clear', 'this-cycle'] as const) {
      const status = decodeMonitorStatus(bytesOf(hex ?? ''), scope);
      if (!status.ok) throw new Error(status.problem.detail);
      const fitted = status.value.monitors.filter((monitor) => monitor.supported);
      expect(fitted.map(({ id }) => id)).toEqual(names(supported));
      expect(fitted.filter(({ complete }) => !complete).map(({ id }) => id)).toEqual(names(incomplete));
      expect(status.value).toMatchObject(
        scope === 'since-clear'
          ? { ignition, lampOn: lamp === 'on', codeCount: Number(count) }
          : { ignition, lampOn: null, codeCount: null },
      );
    }
  });
});

describe('support bitmaps', () => {
  it.each(standardsTable('support-bitmaps'))('%s %s', (base, hex, parameters) => {
    const pid = Number.parseInt(base ?? '', 16);
    expect(decodeSupportedPids(pid, bytesOf(hex ?? ''))).toEqual(names(parameters));
    const reading = decodePid(pid, bytesOf(hex ?? ''));
    expect(reading.ok && reading.value.values[0]?.value).toEqual(names(parameters));
  });
});

describe('two-byte codes', () => {
  it.each(standardsTable('trouble-codes'))('%s is %s', (hex = '', code = '') => {
    const [high = 0, low = 0] = bytesOf(hex);
    expect(troubleCodeOrNull(high, low)).toBe(code === '-' ? null : code);
    const frozen = decodePid(0x02, bytesOf(hex));
    expect(frozen.ok && frozen.value.values[0]?.value).toBe(code === '-' ? null : code);
    if (code === '-') return;
    const back = bytesFromTroubleCode(code);
    expect(back.ok && hexFromBytes(back.value)).toBe(hex);
  });
});

const READ = 'SAE J1979 by wireshark packet-obd-ii.c (read)';
const MEMORY = 'SAE J1979, from memory';
describe('bit-coded parameters', () => {
  it.each([
    [0x03, '0102', ['open loop, cold', 'closed loop'], READ],
    [0x03, '0408', ['open loop, load or deceleration', 'open loop, fault'], READ],
    [0x03, '1000', ['closed loop, sensor fault', 'off'], MEMORY],
    [0x03, '03FF', [null, null], READ], // two bits at once mean nothing
    [0x12, '01', ['upstream'], READ],
    [0x12, '02', ['downstream'], READ],
    [0x12, '04', ['atmosphere or off'], READ],
    [0x12, '08', ['pump on for diagnostics'], READ],
    [0x12, '00', [null], READ],
    [0x13, '00', [[]], READ],
    [0x13, '81', [['B1S1', 'B2S4']], READ],
    [0x13, 'FF', [['B1S1', 'B1S2', 'B1S3', 'B1S4', 'B2S1', 'B2S2', 'B2S3', 'B2S4']], READ],
    [0x1d, '81', [['B1S1', 'B4S2']], READ],
    [0x1d, '5A', [['B1S2', 'B2S2', 'B3S1', 'B4S1']], READ],
    [0x1c, '01', ['OBD-II (CARB)'], READ],
    [0x1c, '0A', ['JOBD'], READ],
    [0x1c, '0E', [null], READ], // 14 to 16, 22, 27 have no row
    [0x1c, '11', ['EMD'], READ],
    [0x1c, '15', ['WWH OBD'], READ],
    [0x1c, '16', [null], READ],
    [0x1c, '21', ['HD EOBD-IV'], READ],
    [0x1c, 'FA', [null], READ],
    [0x1c, 'FB', [null], READ],
    [0x1c, 'FF', [null], READ],
    [0x1e, '00', [[]], READ],
    [0x1e, 'FE', [[]], READ],
    [0x1e, '01', [['power take-off']], READ],
    [0x51, '00', ['not available'], READ],
    [0x51, '01', ['gasoline'], READ],
    [0x51, '0F', ['bi-fuel running electric'], READ],
    [0x51, '10', ['bi-fuel electric and engine'], READ],
    [0x51, '17', ['bi-fuel diesel'], READ],
    [0x51, '18', [null], READ],
    [0x51, 'FF', [null], READ],
    [0x5f, '0E', ['heavy duty Euro IV B1'], READ],
    [0x5f, '10', ['heavy duty EEV C'], READ],
    [0x5f, '0D', [null], READ],
    [
      0x65,
      '0F0F',
      [
        [
          'power take-off',
          'automatic transmission in drive',
          'manual transmission in neutral or gear',
          'glow plug lamp',
        ],
      ],
      READ,
    ],
    [
      0x65,
      '0EFF',
      [['automatic transmission in drive', 'manual transmission in neutral or gear', 'glow plug lamp']],
      READ,
    ],
    [0x65, '00FF', [[]], READ], // no support bit, nothing said
  ] as const)('PID %# (%i) %s', (pid, hex, expected, _source) => {
    const reading = decodePid(pid, bytesOf(hex));
    expect(reading.ok && reading.value.values.map(({ value }) => value)).toEqual(expected);
  });

  // Only the length was read (scapy automotive/obd): bytes stay raw, other lengths are refused.
  it.each([
    [0xa1, 9],
    [0xa3, 9],
    [0xa5, 4],
  ])('PID %i keeps its %i bytes', (pid, length) => {
    const bytes = new Uint8Array(length).fill(0xa5);
    expect(decodePid(pid, bytes)).toMatchObject({ ok: true, value: { raw: 'A5'.repeat(length), values: [] } });
    expect(decodePid(pid, bytes.subarray(1))).toMatchObject({ ok: false, problem: { code: 'response_short' } });
  });
});
