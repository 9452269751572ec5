import { type CaptureReport, FMI_TEXT } from '@tallybay/decode';
import { countText } from '../output/numbers.js';
import { tableLines } from '../output/table.js';

/** What a capture says beside its samples: lamps, fault messages, VIN; a message that never came is not "no faults". */
export function captureLines(capture: CaptureReport): string[] {
  return [
    ...(capture.vin ? ['', `VIN ${capture.vin}`] : []),
    ...section('Lamps', lampTable(capture)),
    ...section('Faults', faultTable(capture)),
    ...(capture.lamps.length === 0 ? ['', 'No fault message in the capture: that is no data, not "no faults"'] : []),
  ];
}

const lampTable = (capture: CaptureReport): string[] =>
  tableLines(
    [
      { title: 'message' },
      { title: 'sender', align: 'right' },
      { title: 'bytes' },
      { title: 'malfunction' },
      { title: 'red stop' },
      { title: 'amber warning' },
      { title: 'protect' },
      { title: 'messages', align: 'right' },
    ],
    [...capture.lamps]
      .sort((left, right) => left.source - right.source)
      .flatMap(({ dm, source, states }) =>
        states.map(({ bytes, lamps, messages }) => [
          dm,
          String(source),
          bytes,
          lamps.mil,
          lamps.redStop,
          lamps.amberWarning,
          lamps.protect,
          countText(messages),
        ]),
      ),
  );

const faultTable = (capture: CaptureReport): string[] =>
  tableLines(
    [
      { title: 'message' },
      { title: 'sender', align: 'right' },
      { title: 'fault' },
      { title: 'failure' },
      { title: 'messages', align: 'right' },
    ],
    capture.faults.map(({ dm, source, code, fault, messages }) => [
      dm,
      String(source),
      code,
      FMI_TEXT[fault.fmi] ?? '',
      countText(messages),
    ]),
  );

/** The head of a table stands only over rows. */
const section = (title: string, table: readonly string[]): string[] =>
  table.length > 2 ? ['', title, ...table.map((line) => `  ${line}`)] : [];
