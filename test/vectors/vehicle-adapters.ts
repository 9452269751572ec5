import {
  bytesFromHex,
  convert,
  decodeDm5,
  decodeFaultList,
  decodeSpn,
  decodeTyre,
  decodeVin,
  detectEncoding,
  engineSpeedRpm,
  findDecimal,
  findTable,
  modelYearsOfCode,
  speedCorrectionFactor,
  splitRows,
  spnRow,
} from '@tallybay/decode';
import { type Adapter, type Check, picked, unknownKind, type Vector } from './check.js';
import { unwrap } from './obd-adapters.js';

const J1939_KINDS: Record<string, (vector: Vector) => Check[]> = {
  spn(vector) {
    const row = spnRow(vector.spn);
    if (!row) throw new Error(`SPN ${vector.spn} is not in the table`);
    const name = `SPN ${vector.spn} ${vector.data}`;
    const value = decodeSpn(row, unwrap(bytesFromHex(vector.data)));
    const layout = {
      pgn: row.pgn,
      startByte: row.startByte,
      bytes: row.bytes,
      scale: row.mul / row.div,
      offset: row.offset,
    };
    const { pgn, startByte, bytes, scale, offset } = vector;
    return [
      { name: `${name}, layout`, expected: { pgn, startByte, bytes, scale, offset }, got: layout },
      { name: `${name}, state`, expected: vector.state, got: value.state },
      { name, expected: vector.expected, got: value.value },
      { name: `${name}, unit`, expected: vector.unit, got: row.unit },
    ];
  },
  dm(vector) {
    const list = unwrap(decodeFaultList(unwrap(bytesFromHex(vector.data))));
    const wanted: Vector[] = vector.expected.dtcs ?? [];
    const dtcs = list.faults.map((fault, index) => {
      const asked = wanted[index] ?? {};
      return picked(asked, {
        // With an old conversion method the SPN is not defined; a vector may still print it as method 4 reads it.
        spn: fault.spn ?? (asked.spn === null ? null : fault.spnByMethod4),
        fmi: fault.fmi,
        oc: fault.occurrences ?? (asked.oc === 127 ? 127 : null),
        cm: fault.conversionMethod,
      });
    });
    const got = picked(vector.expected, { lamps: list.lamps, flash: list.flash, dtcs });
    return [{ name: `${vector.kind} ${vector.data}`, expected: vector.expected, got }];
  },
  dm5(vector) {
    const dm5 = unwrap(decodeDm5(unwrap(bytesFromHex(vector.data))));
    const supported = dm5.monitors.filter((monitor) => monitor.supported);
    const open = supported.filter((monitor) => !monitor.complete);
    const ids = (monitors: typeof open): string[] => monitors.map((monitor) => monitor.id);
    const { activeCount, previouslyActiveCount, obdCompliance } = dm5;
    const all = { activeCount, previouslyActiveCount, obdCompliance, supported: ids(supported), incomplete: ids(open) };
    return [{ name: `DM5 ${vector.data}`, expected: vector.expected, got: picked(vector.expected, all) }];
  },
};

/** `{kind: 'spn' | 'dm1' | …, data, expected}` */
export const j1939: Adapter = (vector) => {
  const kind = /^dm(1|2|6|12|23|28)$/.test(vector.kind) ? 'dm' : vector.kind;
  return (J1939_KINDS[kind] ?? ((other) => unknownKind('j1939', other)))(vector);
};

/** `{vin, expected}` */
export const vin: Adapter = ({ vin: text, expected }, { year }) => {
  const result = decodeVin(text, { currentYear: year });
  if (!result.ok) return [{ name: text, expected, got: picked(expected, { wellFormed: false }) }];
  const { sum, checkDigit, checkOk, modelYear } = result.value;
  const got = {
    wellFormed: true,
    sum,
    checkDigit,
    checkOk,
    modelYearLightVehicle: modelYear.lightVehicleYear,
    modelYearCapped: modelYear.cappedYear,
    modelYearCandidates: modelYear.codeYears,
  };
  return [{ name: text, expected, got: picked(expected, got) }];
};

/** `{code, years}`; an unused code has no years. */
export const modelYearCodes: Adapter = ({ code, years }) => [
  { name: code, expected: years ?? [], got: modelYearsOfCode(code) },
];

const TYRE_KINDS: Record<string, (vector: Vector) => Check[]> = {
  size({ size, expected }) {
    return [{ name: size, expected, got: picked(expected, { ...unwrap(decodeTyre(size)) }) }];
  },
  'speed-correction'(vector) {
    const { indicated, old, new: fitted, oldAxle, newAxle, expected } = vector;
    const factor = unwrap(
      speedCorrectionFactor({ oldTyre: old, newTyre: fitted, oldAxleRatio: oldAxle, newAxleRatio: newAxle }),
    );
    return [{ name: `${old} ${oldAxle} -> ${fitted} ${newAxle}`, expected, got: indicated * factor }];
  },
  'rpm-from-speed'({ kmh, size, axle, gear, expected }) {
    const got = unwrap(engineSpeedRpm({ speedKmh: kmh, tyre: size, axleRatio: axle, gearRatio: gear }));
    return [{ name: `${kmh} km/h ${size} ${axle} ${gear}`, expected, got }];
  },
};

export const tyre: Adapter = (vector) =>
  (TYRE_KINDS[vector.kind ?? 'size'] ?? ((other) => unknownKind('tyre', other)))(vector);

/** `{value, from, to, expected}` */
export const units: Adapter = ({ value, from, to, expected }) => [
  { name: `${value} ${from} -> ${to}`, expected, got: convert(value, from, to) },
];

const BEYOND = 'a dialect beyond RFC 4180';

/** `{text, rows}`; rows null = outside RFC 4180, so that delimiter, decimal sign, mark or units row must be found by looking. */
export const csv: Adapter = ({ text, rows, note }) => {
  if (rows !== null) return [{ name: note, expected: rows, got: splitRows(text, ',').map((row) => row.cells) }];
  const encoding = detectEncoding(new TextEncoder().encode(text));
  const table = findTable(text.replace(/^\uFEFF/, ''), undefined, false);
  if (!encoding.ok || !table)
    return [{ name: note, expected: BEYOND, got: encoding.ok ? 'no table' : encoding.detail }];
  const signs = [
    table.delimiter !== ',',
    findDecimal(table.rows, table.delimiter).decimal === ',',
    encoding.found.bomBytes > 0,
    table.units !== null,
    table.preamble.length > 0,
  ];
  return [{ name: note, expected: BEYOND, got: signs.includes(true) ? BEYOND : 'plain RFC 4180' }];
};
