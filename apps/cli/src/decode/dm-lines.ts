import { type FaultList, FMI_TEXT, faultName, type J1939Fault, spnRow } from '@tallybay/decode';
import { plural } from '../output/numbers.js';
import { tableLines } from '../output/table.js';

const LAMPS = { mil: 'malfunction', redStop: 'red stop', amberWarning: 'amber warning', protect: 'protect' } as const;

/** A DM1 message as a person reads it: lamps, then active faults. */
export function faultListLines(list: FaultList): string[] {
  const lamps = (Object.keys(LAMPS) as (keyof typeof LAMPS)[]).map((lamp) => [
    LAMPS[lamp],
    list.lamps[lamp],
    list.flash[lamp] === 'none' ? '' : `${list.flash[lamp]} flash`,
  ]);
  const faults = tableLines(
    [{ title: 'fault' }, { title: 'of' }, { title: 'failure' }, { title: 'times', align: 'right' }],
    list.faults.map(faultCells),
  );
  return [
    ...tableLines([{ title: 'lamp' }, { title: 'state' }, { title: 'flash' }], lamps),
    '',
    plural(list.faults.length, 'active fault'),
    ...(list.faults.length > 0 ? faults : []),
  ];
}

function faultCells(fault: J1939Fault): string[] {
  const row = fault.spn === null ? null : spnRow(fault.spn);
  return [
    faultName(fault),
    row?.name ?? (fault.spn === null ? 'number not defined by the old conversion method' : 'not in the table'),
    FMI_TEXT[fault.fmi] ?? '',
    fault.occurrences === null ? '' : String(fault.occurrences),
  ];
}
