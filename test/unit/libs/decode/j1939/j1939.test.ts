// SAE J1939-71, -73, -21: sources beside each row of the table; payloads from test/fixtures/vectors/j1939.json.
import {
  createJ1939Transport,
  decodeDm5,
  decodeDm21,
  decodeDm26,
  decodeFaultList,
  decodeSpn,
  encodeFault,
  encodeSpn,
  faultName,
  j1939IdFromNumber,
  j1939IdToNumber,
  SPN_ROWS,
  signalRow,
  spnRow,
} from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const bytes = (hex: string) => Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'));

describe('identifiers', () => {
  it('splits 0CF00400 and 18EAFF21 (SAE J1939-21, from memory)', () => {
    expect(j1939IdFromNumber(0x0cf00400)).toEqual({ priority: 3, pgn: 61_444, source: 0, destination: 255 });
    expect(j1939IdFromNumber(0x18eaff21)).toEqual({ priority: 6, pgn: 59_904, source: 0x21, destination: 255 });
  });

  it('come back from their parts (property)', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 0x1fff_ffff }), (id) => {
        expect(j1939IdToNumber(j1939IdFromNumber(id))).toBe(id);
      }),
    );
  });
});

describe('signals', () => {
  it('reads what it wrote over the valid range, and nothing else becomes a number (property)', () => {
    for (const row of SPN_ROWS) {
      fc.assert(
        fc.property(fc.uint8Array({ minLength: 8, maxLength: 8 }), (data) => {
          const { state, value } = decodeSpn(row, data);
          const top = data[row.startByte - 1 + row.bytes - 1] ?? 0;
          expect(state === 'valid').toBe(top <= 0xfa);
          expect(value === null).toBe(state !== 'valid');
          if (value !== null) {
            expect(encodeSpn(row, value)).toEqual(data.slice(row.startByte - 1, row.startByte - 1 + row.bytes));
          }
        }),
        { numRuns: 30 },
      );
    }
  });

  it.each([
    ['FB', 'parameter-specific'],
    ['FC', 'reserved'],
    ['FD', 'reserved'],
    ['FE', 'error'],
    ['FF', 'not-available'],
  ])('coolant raw %s is %s', (hex, state) => {
    expect(decodeSpn(spnRow(110)!, bytes(`${hex}FFFFFFFFFFFFFF`))).toMatchObject({ state, value: null });
  });

  it('is absent where the data end before it', () => {
    expect(decodeSpn(spnRow(175)!, bytes('87FFE0'))).toMatchObject({ state: 'absent', value: null });
  });

  it('feed catalogue signals in their own unit', () => {
    for (const row of SPN_ROWS) if (row.signal) expect(signalRow(row.signal).unit, row.name).toBe(row.unit);
  });
});

describe('fault lists', () => {
  const read = (hex: string) => {
    const list = decodeFaultList(bytes(hex));
    if (!list.ok) throw new Error(list.problem.detail);
    return list.value;
  };

  it('has no fault in SPN 0 FMI 0, nor in fill', () => {
    expect(read('00FF00000000FFFF').faults).toEqual([]);
    expect(read('00FFFFFFFFFFFFFF').faults).toEqual([]);
  });

  it('reads lamps, flash, faults, the count that is not available', () => {
    const { lamps, flash, faults } = read('44F36E0010FF6E00 00 7F B1 00 0F 01');
    expect(lamps).toEqual({ mil: 'on', redStop: 'off', amberWarning: 'on', protect: 'off' });
    expect(flash).toMatchObject({ mil: 'none', amberWarning: 'slow' });
    expect(faults.map(faultName)).toEqual(['SPN ? (6E0010) FMI 16', 'SPN 110 FMI 0', 'SPN 177 FMI 15']);
    expect(faults[0]).toMatchObject({ spn: null, conversionMethod: 1, raw: '6E0010FF', spnByMethod4: 110 });
    expect(faults[1]).toMatchObject({ occurrences: null });
  });

  it('come back from their parts (property)', () => {
    const spn = fc.integer({ min: 1, max: 0x7fffe });
    fc.assert(
      fc.property(
        spn,
        fc.integer({ min: 0, max: 31 }),
        fc.integer({ min: 0, max: 126 }),
        (number, fmi, occurrences) => {
          const [fault] = read(`40FF${Buffer.from(encodeFault(number, fmi, occurrences)).toString('hex')}`).faults;
          expect(fault).toMatchObject({ spn: number, fmi, occurrences, conversionMethod: 0 });
        },
      ),
    );
  });
});

describe('readiness and counters (layouts from memory)', () => {
  it('DM5 of a diesel: NMHC catalyst and particulate filter not complete', () => {
    // Byte 4: three continuous monitors, complete. Bytes 5-6: EGR, oxygen sensor; boost, filter, SCR, NMHC.
    const dm5 = decodeDm5(bytes('01 02 14 07 A0 1E 00 14'));
    if (!dm5.ok) throw new Error(dm5.problem.detail);
    expect(dm5.value).toMatchObject({ activeCount: 1, previouslyActiveCount: 2, obdCompliance: 20 });
    const supported = dm5.value.monitors.filter((monitor) => monitor.supported);
    expect(supported.map((monitor) => monitor.id)).toEqual([
      'misfire',
      'fuel_system',
      'components',
      'exhaust_gas_sensor',
      'egr_vvt',
      'boost_pressure',
      'pm_filter',
      'nox_scr',
      'nmhc_catalyst',
    ]);
    expect(supported.filter((monitor) => !monitor.complete).map((monitor) => monitor.id)).toEqual([
      'pm_filter',
      'nmhc_catalyst',
    ]);
  });

  it('DM5 of FF says that nothing is supported', () => {
    const dm5 = decodeDm5(bytes('FFFFFFFFFFFFFFFF'));
    expect(dm5.ok && dm5.value.monitors.some((monitor) => monitor.supported)).toBe(false);
    expect(dm5.ok && dm5.value.activeCount).toBeNull();
  });

  it('DM21 and DM26 leave out what is not available', () => {
    expect(decodeDm21(bytes('0000 4201 FFFF 3C00'))).toEqual({
      distanceWithLampKm: 0,
      distanceSinceClearKm: 322,
      minutesSinceClear: 60,
    });
    expect(decodeDm26(bytes('3C00 05'))).toEqual({ secondsSinceStart: 60, warmUpsSinceClear: 5 });
  });
});

describe('transport protocol', () => {
  const push = (frames: string[]) => {
    const transport = createJ1939Transport();
    const results = frames.map((frame) => {
      const [id = '', data = ''] = frame.split('#');
      return transport.push(j1939IdFromNumber(Number.parseInt(id, 16)), bytes(data));
    });
    return {
      messages: results.flatMap((result) => result.message ?? []),
      problems: [...results.flatMap((result) => result.problem ?? []), ...transport.finish()],
    };
  };
  const BAM = [
    '18ECFF00#20120003FFCAFE00',
    '18EBFF00#0100FF5B0003015C',
    '18EBFF00#020004025D000503',
    '18EBFF00#035E000604FFFFFF',
  ];

  it('joins a broadcast of 18 bytes (published example)', () => {
    const { messages, problems } = push(BAM);
    expect(problems).toEqual([]);
    expect(messages[0]).toMatchObject({ pgn: 65_226, source: 0 });
    const list = decodeFaultList(messages[0]!.data);
    expect(list.ok && list.value.faults.map(faultName)).toEqual([
      'SPN 91 FMI 3',
      'SPN 92 FMI 4',
      'SPN 93 FMI 5',
      'SPN 94 FMI 6',
    ]);
  });

  it('joins an addressed message with a repeat after clear-to-send', () => {
    const { messages, problems } = push([
      '18EC0300#10120003FFCAFE00',
      '18EC0003#110301FFFFCAFE00',
      '18EB0300#0100FF5B0003015C',
      '18EB0300#020004025D000503',
      '18EC0003#110202FFFFCAFE00',
      '18EB0300#020004025D000503',
      '18EB0300#035E000604FFFFFF',
      '18EC0003#13120003FFCAFE00',
    ]);
    expect(problems).toEqual([]);
    expect(messages).toHaveLength(1);
    expect(messages[0]).toMatchObject({ pgn: 65_226, source: 0, destination: 3 });
    expect(messages[0]?.data).toHaveLength(18);
  });

  it('tells a lost packet, an abort, a message without end', () => {
    expect(push([BAM[0]!, BAM[1]!, BAM[3]!]).problems[0]?.code).toBe('frame_order');
    expect(push([BAM[0]!, BAM[1]!]).problems[0]?.code).toBe('frame_incomplete');
    expect(push(['18EC0300#10120003FFCAFE00', '18EC0003#FF01FFFFFFCAFE00']).problems[0]?.code).toBe('frame_incomplete');
    expect(push(['18ECFF00#20120009FFCAFE00']).problems[0]?.code).toBe('frame_invalid');
  });
});
