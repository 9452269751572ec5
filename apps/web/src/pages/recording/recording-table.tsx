import type { RecordingList } from '@tallybay/contracts';
import { recordingHref } from '../../app/places.js';
import { Mark } from '../../kit/stage.js';
import { type Column, Table } from '../../kit/table.js';
import { t } from '../../text/text.js';
import { ZoneTime } from './zone-time.js';

type Glance = RecordingList['recordings'][number];

/** Newest recorded first; what has no time yet stands above, by when it arrived. */
export function RecordingTable({ recordings, zone }: { recordings: readonly Glance[]; zone: string }) {
  const time = new ZoneTime(zone, t.locale);
  const when = ({ from, receivedAt }: Glance) => from ?? receivedAt;
  const rows = [...recordings].sort((a, b) => (when(a) < when(b) ? 1 : -1));
  return (
    <Table
      caption={t.recordings.shown(rows.length)}
      columns={columnsIn(time)}
      rows={rows}
      rowKey={({ upload }) => upload}
      rowHeight={54}
    />
  );
}

const columnsIn = (time: ZoneTime): Column<Glance>[] => [
  {
    id: 'recorded',
    head: t.recordings.columns.recorded,
    width: '9.4rem',
    cell: (row) => <Recorded row={row} time={time} />,
  },
  {
    id: 'length',
    from: 430,
    head: t.recordings.columns.length,
    width: '8rem',
    align: 'end',
    cell: (row) => lengthText(row),
  },
  {
    id: 'rows',
    head: t.recordings.columns.rows,
    width: '6rem',
    align: 'end',
    from: 560,
    cell: ({ counts }) => counts?.rowsKept.toLocaleString(t.locale) ?? missing(),
  },
  {
    id: 'drives',
    head: t.recordings.columns.drives,
    width: '5rem',
    align: 'end',
    from: 480,
    cell: ({ drives }) => drives,
  },
  {
    id: 'gaps',
    head: t.recordings.columns.gaps,
    width: '9.4rem',
    from: 960,
    cell: ({ gaps, longestGapSeconds }) => t.recordings.gaps(gaps, t.recording.duration(longestGapSeconds * 1000)),
  },
  {
    id: 'signals',
    head: t.recordings.columns.signals,
    width: '5.4rem',
    align: 'end',
    from: 700,
    cell: ({ signals }) => signals.length,
  },
  { id: 'state', head: t.recordings.columns.state, width: '8.6rem', cell: (row) => <State row={row} /> },
  {
    id: 'file',
    head: t.recordings.columns.file,
    from: 760,
    cell: ({ fileName, recorder }) => (
      <>
        {fileName ?? <span class="missing">{t.recordings.unnamed}</span>}
        {recorder && <span class="second">{recorder}</span>}
      </>
    ),
  },
];

function Recorded({ row, time }: { row: Glance; time: ZoneTime }) {
  if (row.from === null || row.to === null)
    return <span class="missing">{t.recordings.received(time.full(Date.parse(row.receivedAt), 60_000))}</span>;
  const [fromMs, toMs] = [Date.parse(row.from), Date.parse(row.to)];
  const text = time.date(fromMs);
  return (
    <>
      {row.state === 'stored' ? (
        <a class="vehicle-link" href={recordingHref(row.upload)}>
          {text}
        </a>
      ) : (
        text
      )}
      <span class="second number">
        {time.clock(fromMs, 60_000)} – {time.date(toMs) === text ? '' : `${time.date(toMs)}, `}
        {time.clock(toMs, 60_000)}
      </span>
    </>
  );
}

const lengthText = ({ from, to }: Glance) =>
  from && to ? t.recording.duration(Date.parse(to) - Date.parse(from)) : missing();

const missing = () => <span class="missing">{t.states.noValue}</span>;

function State({ row }: { row: Glance }) {
  const kind = row.state === 'stored' ? 'good' : row.state === 'failed' ? 'bad' : 'unknown';
  return (
    <span title={row.problem?.detail}>
      <Mark kind={kind} text={t.recordings.states[row.state] ?? row.state} />
    </span>
  );
}
