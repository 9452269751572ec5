// Shapes follow the snapshot contract; bytes are published examples of SAE J1979 and J1939-73 or built from their layouts.
import { snapshotSchema } from '@tallybay/contracts';
import { decodeRawSnapshot, type RawSnapshot } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';

/** A decoded snapshot without its problems must be a valid body of the contract. */
const accepted = ({ problems: _, ...snapshot }: RawSnapshot) =>
  snapshotSchema.safeParse({ ...snapshot, time: '2026-11-25T08:00:00Z' }).success;

describe('decodeRawSnapshot', () => {
  it('reads a car on CAN: lamp, monitors, codes of each kind, counters, VIN', () => {
    const snapshot = decodeRawSnapshot({
      transport: 'can',
      responses: [
        '7E8 06 41 01 81 07 65 04',
        '7E9 06 41 01 00 04 00 00',
        '7E8 04 43 01 04 55',
        '7E9 02 43 00',
        '7E8 04 47 01 01 28',
        '7E8 02 4A 00',
        '7E8 03 41 30 05',
        '7E8 04 41 31 01 42',
        '7E8 04 41 4E 00 3C',
        '7E8 06 41 A6 00 13 D6 20',
        '7E8 10 14 49 02 01 31 4D 38|7E8 21 47 44 4D 39 41 58 4B|7E8 22 50 30 34 32 37 38 38',
      ],
    });
    expect(snapshot.problems).toEqual([]);
    expect(snapshot).toMatchObject({
      lampOn: true,
      ignition: 'spark',
      codes: [
        { code: 'P0455', status: 'confirmed', module: '7E8' },
        { code: 'P0128', status: 'pending', module: '7E8' },
      ],
      counters: { warmUpsSinceClear: 5, distanceSinceClearKm: 322, minutesSinceClear: 60 },
      odometerKm: 130_000,
      vin: '1M8GDM9AXKP042788',
    });
    expect(snapshot.monitors?.find((monitor) => monitor.id === 'evap')).toEqual({
      id: 'evap',
      supported: true,
      complete: false,
    });
    expect(new Set(snapshot.read)).toEqual(
      new Set(['lamp', 'monitors', 'confirmed', 'pending', 'permanent', 'counters']),
    );
    // 7E9 answered service 03 alone: of its pending and permanent codes nothing is known.
    expect(snapshot.modulesRead).toEqual({ confirmed: ['7E8', '7E9'], pending: ['7E8'], permanent: ['7E8'] });
    expect(accepted(snapshot)).toBe(true);
  });

  it('tells "not read" from "none": no code service, no codes', () => {
    const snapshot = decodeRawSnapshot({ transport: 'can', responses: ['41 05 7B'] });
    expect(snapshot).toEqual({ read: [], problems: [] });
  });

  it('uses the transport: the same bytes are P0133 on an older bus', () => {
    const responses = ['43 01 33 00 00 00 00'];
    expect(decodeRawSnapshot({ transport: 'legacy', responses }).codes).toEqual([
      { code: 'P0133', status: 'confirmed' },
    ]);
    expect(decodeRawSnapshot({ transport: 'can', responses }).codes).toEqual([{ code: 'P3300', status: 'confirmed' }]);
    // An answer without a module's name stands for the whole vehicle.
    expect(decodeRawSnapshot({ transport: 'can', responses }).modulesRead).toBeUndefined();
  });

  it('takes pending and confirmed from the UDS status and leaves history out', () => {
    const snapshot = decodeRawSnapshot({
      transport: 'can',
      responses: ['59 02 FF 01 10 1C AF 22 74 00 64 01 33 00 50'],
    });
    expect(snapshot.codes).toEqual([
      { code: 'P0110', status: 'confirmed', failureType: '1C' },
      { code: 'P2274', status: 'pending', failureType: '00' },
    ]);
  });

  it('reads a truck on J1939: DM1 over several packets, DM5, DM28, counters, hours and distance', () => {
    const snapshot = decodeRawSnapshot({
      transport: 'j1939',
      responses: [
        '18ECFF00#20120003FFCAFE00',
        '18EBFF00#0140FF5B0003015C',
        '18EBFF00#020004025D000503',
        '18EBFF00#035E000604FFFFFF',
        '18FECA03#00FF00000000FFFF',
        '18FECE00 01 00 14 07 A0 1E 00 04',
        'DM28: 00FF6E000001FFFF',
        '(1626905042.6) can1 18FEE500#00090500FFFFFFFF',
        '18FEC100#002D3101FFFFFFFF',
        '18FDB800#3C0005FFFFFFFFFF',
      ],
    });
    expect(snapshot.problems).toEqual([]);
    expect(snapshot).toMatchObject({
      lampOn: true,
      ignition: 'compression',
      engineHours: 16_499.2,
      odometerKm: 100_000,
    });
    expect(snapshot.codes?.map(({ code, status, module }) => `${code} ${status} ${module}`)).toEqual([
      'SPN 91 FMI 3 confirmed SA0',
      'SPN 92 FMI 4 confirmed SA0',
      'SPN 93 FMI 5 confirmed SA0',
      'SPN 94 FMI 6 confirmed SA0',
      'SPN 110 FMI 0 permanent SA0',
    ]);
    expect(snapshot.counters).toEqual({ warmUpsSinceClear: 5 });
    expect(snapshot.monitors?.find((monitor) => monitor.id === 'pm_filter')).toMatchObject({ complete: false });
    expect(accepted(snapshot)).toBe(true);
  });

  it('reads "no faults" and a lamp that is not available', () => {
    const snapshot = decodeRawSnapshot({ transport: 'j1939', responses: ['18FECA00#C0FF00000000FFFF'] });
    expect(snapshot).toEqual({ codes: [], read: ['confirmed'], modulesRead: { confirmed: ['SA0'] }, problems: [] });
  });

  it('reports what it cannot read and reads the rest', () => {
    const snapshot = decodeRawSnapshot({
      transport: 'j1939',
      responses: ['00FF00', '18FECA00#40FF6E000003FFFF', 'DM9: 00'],
    });
    expect(snapshot.codes).toHaveLength(1);
    expect(snapshot.problems.map((problem) => problem.code)).toEqual(['frame_invalid', 'frame_invalid']);
  });
});
