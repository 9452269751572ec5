import {
  bytesFromHex,
  createCandumpReader,
  createIsoTp,
  createJ1939Transport,
  dbcNumber,
  decodeCodeList,
  decodeDm5,
  decodeDm21,
  decodeDm26,
  decodeFaultList,
  decodeMonitorStatus,
  decodePid,
  decodeRawSnapshot,
  decodeResponses,
  decodeService,
  decodeSpn,
  decodeTyre,
  decodeUdsCodeList,
  decodeVehicleInfo,
  decodeVin,
  describeCode,
  encodePid,
  j1939IdFromNumber,
  PID_ROWS,
  parseDbc,
  planCandump,
  planLog,
  SPN_ROWS,
} from '@tallybay/decode';
import { mutated, type Random, randomBytes } from './random.js';

/** One decoder: takes its input from the generator, returns what it decoded. `nanAllowed`: columns use NaN for "no value". */
export interface FuzzTarget {
  name: string;
  run(random: Random): unknown;
  nanAllowed?: true;
}

const pick = <T>(random: Random, list: readonly T[]): T => list[random.next(list.length)] as T;
const text = (random: Random, most: number): string => String.fromCharCode(...randomBytes(random, most));
const TRANSPORTS = ['can', 'legacy', null] as const;

const RESPONSES = [
  '41 05 7B 0C 1A F8',
  '7E8 10 0B 41 78 0D 06 1F 01 | 7E8 21 90 03 DA 02 A6 00 00',
  '7E8 10 14 49 02 01 31 44 34\n7E9 03 41 0D 20\n7E8 21 47 50 30 30 52 35 35\n7E8 22 42 31 32 33 34 35 36',
  '48 6B 10 41 05 7B 44',
  '014\n0: 49 02 01 31 44 34\n1: 47 50 30 30 52 35 35\n2: 42 31 32 33 34 35 36',
  '18DAF110 06 43 02 01 33 02 17',
  '59 02 FF 01 10 1C AF',
];
const LINES = [
  '(1648577125.370750) can1 18FEEE00#87FFE02FFFFFFFFF\n',
  '(1648577125.380750) can0 7E8#0341057B\n',
  '(1648577126.370750) can1 18ECFF00#20120003FFCAFE00\n(1648577126.4) can1 18EBFF00#0100FF5B0003015C\n',
  '(1648577127.370750) can1 1FFFFFFF##1AABBCCDDEEFF00112233\n(000.1) v 123#R\n',
];
const DBC = [
  'BO_ 2566844926 ET1: 8 Vector__XXX',
  ' SG_ CoolantTemp : 0|8@1+ (1,-40) [-40|210] "degC" Vector__XXX',
  ' SG_ Mode M : 8|4@1+ (1,0) [0|15] "" X',
  ' SG_ Other m3 : 23|12@0- (0.5,-10) [0|0] "kPa" X',
].join('\n');
const FRAMES = ['18FECA00#44FF6E001002B100', 'DM1 40FF6E000003FFFF', 'DM5: 010014E7FF0F0000', '18FEEC00 31 4D 38'];
const TABLES = ['Time,ECT (degC)\n0,90\n1,91\n', 't;RPM\n0,0;90,5\n', '\ufeffA\tB\r\n1\t2\r\n'];

/** Every decoder of diagnostic bytes and captures. */
export const FUZZ_TARGETS: readonly FuzzTarget[] = [
  { name: 'pid', run: (random) => decodePid(random.next(256), randomBytes(random, 15)) },
  {
    name: 'pid-encode',
    run(random) {
      const row = pick(random, PID_ROWS);
      const values = [-1, 0, 1e9, Number.NaN, Number.POSITIVE_INFINITY, null, 'x', ['x'], random.next(1000) / 7];
      return encodePid(row.pid, Object.fromEntries(row.fields.map((field) => [field.id, pick(random, values)])));
    },
  },
  { name: 'monitor-status', run: (random) => decodeMonitorStatus(randomBytes(random, 6), 'since-clear') },
  { name: 'service', run: (random) => decodeService(randomBytes(random, 40), pick(random, TRANSPORTS)) },
  { name: 'vehicle-info', run: (random) => decodeVehicleInfo(randomBytes(random, 40)) },
  {
    name: 'responses',
    run: (random) => decodeResponses([mutated(random, pick(random, RESPONSES))], pick(random, TRANSPORTS)),
  },
  { name: 'responses-noise', run: (random) => decodeResponses([text(random, 40)], pick(random, TRANSPORTS)) },
  { name: 'hex', run: (random) => bytesFromHex(text(random, 30)) },
  { name: 'code-list', run: (random) => decodeCodeList(randomBytes(random, 14), pick(random, TRANSPORTS)) },
  { name: 'uds-list', run: (random) => decodeUdsCodeList(randomBytes(random, 24)) },
  {
    name: 'describe',
    run: (random) => describeCode(mutated(random, pick(random, ['P0217', 'SPN 110 FMI 0', 'U0100:1C']))),
  },
  {
    name: 'iso-tp',
    run(random) {
      const isoTp = createIsoTp();
      const pushed = Array.from({ length: 6 }, () => isoTp.push(pick(random, ['7E8', '7E9']), randomBytes(random, 8)));
      return [pushed, isoTp.finish()];
    },
  },
  { name: 'spn', run: (random) => decodeSpn(pick(random, SPN_ROWS), randomBytes(random, 9)) },
  { name: 'fault-list', run: (random) => decodeFaultList(randomBytes(random, 24)) },
  {
    name: 'dm',
    run: (random) => [
      decodeDm5(randomBytes(random, 9)),
      decodeDm21(randomBytes(random, 9)),
      decodeDm26(randomBytes(random, 9)),
    ],
  },
  {
    name: 'j1939-transport',
    run(random) {
      const transport = createJ1939Transport();
      const ids = [0x18ecff00, 0x18ebff00, 0x18ec0300, 0x18eb0300, 0x18ec0003, random.next(2 ** 29)];
      const kinds = [16, 17, 19, 32, 255, 1, 2, 3];
      const frame = (): Uint8Array => Uint8Array.from([pick(random, kinds), ...randomBytes(random, 7)]);
      const pushed = Array.from({ length: 8 }, () => transport.push(j1939IdFromNumber(pick(random, ids)), frame()));
      return [pushed, transport.finish()];
    },
  },
  {
    name: 'snapshot-obd',
    run: (random) => decodeRawSnapshot({ transport: 'can', responses: [mutated(random, pick(random, RESPONSES))] }),
  },
  {
    name: 'snapshot-j1939',
    run: (random) => decodeRawSnapshot({ transport: 'j1939', responses: [mutated(random, pick(random, FRAMES))] }),
  },
  {
    name: 'vin',
    run: (random) => decodeVin(mutated(random, '1M8GDM9AXKP042788'), { currentYear: 2000 + random.next(50) }),
  },
  {
    name: 'tyre',
    run: (random) => decodeTyre(mutated(random, pick(random, ['225/70R19.5', 'LT245/75R16 120/116S', 'P265/70 ZR17']))),
  },
  {
    name: 'dbc',
    run(random) {
      const file = parseDbc(mutated(random, DBC));
      const data = randomBytes(random, 8);
      return [
        file,
        file.messages.flatMap((message) => message.signals.map((signal) => dbcNumber(signal, message, data))),
      ];
    },
    nanAllowed: true,
  },
  {
    name: 'capture',
    run(random) {
      const bytes = new TextEncoder().encode(mutated(random, LINES.join('')) + mutated(random, pick(random, LINES)));
      const planned = planCandump(bytes, random.next(2) ? { dbc: mutated(random, DBC) } : {});
      if (!planned.ok) return planned;
      let rows = 0;
      const reader = createCandumpReader(planned.plan, (batch) => {
        rows += batch.rowCount;
      });
      const cut = random.next(bytes.length + 1);
      reader.push(bytes.subarray(0, cut));
      reader.push(bytes.subarray(cut));
      return [rows, reader.finish(), reader.report()];
    },
  },
  { name: 'table-head', run: (random) => planLog(new TextEncoder().encode(mutated(random, pick(random, TABLES))), {}) },
];
