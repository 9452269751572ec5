import type { OverlapReport, VehicleQuality } from '@tallybay/contracts';
import { recordingHref } from '../../app/places.js';
import { Mark } from '../../kit/stage.js';
import { sentenceInUnits } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { weekNumber } from '../ranking/week-names.js';
import { useSome, Wide } from './section.js';
import { DepotTime } from './when.js';

const FEW = 8;
const SURE_PERCENT = 80;
const STUCK_SECONDS = 600;

type Row = VehicleQuality['signals'][number];

/** What is known badly or not at all: missing is not healthy. */
interface QualityProps {
  data: VehicleQuality;
  /** Logs of which some time is counted from another log. */
  overlaps: readonly OverlapReport[];
  timeZone: string;
}

export function Quality({ data, overlaps, timeZone }: QualityProps) {
  const words = t.vehicle.quality;
  const { recordings } = data;
  const time = new DepotTime(timeZone);
  const { shown, more } = useSome(data.signals, FEW);
  return (
    <>
      <p>
        {words.rows(recordings.rowsKept, recordings.rows, recordings.count)}{' '}
        {words.gaps(recordings.gaps, t.vehicle.duration(recordings.longestGapSeconds))}{' '}
        {recordings.longestGapUpload && <a href={recordingHref(recordings.longestGapUpload)}>{words.longest}</a>}{' '}
        {recordings.backwardSteps + recordings.duplicateTimes > 0 &&
          words.clock(recordings.backwardSteps, recordings.duplicateTimes)}
      </p>
      {data.findings.length === 0 ? (
        <p>{words.findingsNone}</p>
      ) : (
        <>
          <h3>{words.findings}</h3>
          <ul class="plain-list">
            {data.findings.map((finding) => (
              <li key={finding.signal + finding.text}>
                <Mark kind="bad" text={finding.label} />: {sentenceInUnits(finding.text)}{' '}
                <span class="quiet">{words.inWeeks(finding.weeks.map(weekNumber))}.</span>
              </li>
            ))}
          </ul>
        </>
      )}
      {data.notRecorded.length > 0 && <p>{words.notRecorded(data.notRecorded.map(({ label }) => label))}</p>}
      <Overlaps overlaps={overlaps} />
      {data.failed.length > 0 && (
        <>
          <h3>{words.failed}</h3>
          <ul class="plain-list">
            {data.failed.map((upload) => (
              <li key={upload.upload}>
                {words.failedText(
                  upload.fileName ?? words.unnamed,
                  time.date(upload.receivedAt),
                  upload.problem ?? words.unknownProblem,
                )}
              </li>
            ))}
          </ul>
        </>
      )}
      {shown.length > 0 && (
        <>
          <h3>{words.signals}</h3>
          <Wide label={words.signals}>
            <table class="facts tight">
              <caption class="only-read">{words.signals}</caption>
              <thead>
                <tr>
                  <th scope="col">{words.signal}</th>
                  <th scope="col">{words.channel}</th>
                  <th scope="col" class="end">
                    {words.leftOut}
                  </th>
                  <th scope="col">{words.why}</th>
                </tr>
              </thead>
              <tbody>
                {shown.map((row) => (
                  <tr key={row.signal}>
                    <th scope="row">{row.label}</th>
                    <td>{row.channels.join(', ')}</td>
                    <td class="end">{shareText(row)}</td>
                    <td>{reasonsOf(row).join(', ')}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Wide>
          {more}
        </>
      )}
      <p class="quiet">{words.fine(data.signalsFine)}</p>
    </>
  );
}

function Overlaps({ overlaps }: { overlaps: readonly OverlapReport[] }) {
  const { shown, more } = useSome(overlaps, FEW);
  if (overlaps.length === 0) return null;
  return (
    <>
      <h3>{t.vehicle.quality.overlaps}</h3>
      <ul class="plain-list">
        {shown.map((one) => (
          <li key={`${one.upload}${one.other}${one.from}`}>
            {one.text}{' '}
            <a href={recordingHref(one.upload, { from: one.from, to: one.to })}>{t.vehicle.quality.oneLog}</a>,{' '}
            <a href={recordingHref(one.other, { from: one.from, to: one.to })}>{t.vehicle.quality.otherLog}</a>
          </li>
        ))}
      </ul>
      {more}
    </>
  );
}

function shareText(row: Row): string {
  const left = row.outOfRange + row.unreadable + row.jump;
  const all = left + row.valid;
  if (all === 0) return t.vehicle.dwell.zero;
  return (left / all).toLocaleString(t.locale, { style: 'percent', maximumFractionDigits: 1 });
}

function reasonsOf(row: Row): string[] {
  const words = t.vehicle.quality.reasons;
  const percent = row.confidence === null ? 100 : Math.round(row.confidence * 100);
  return [
    ...(row.outOfRange > 0 ? [words.outOfRange(row.outOfRange)] : []),
    ...(row.unreadable > 0 ? [words.unreadable(row.unreadable)] : []),
    ...(row.jump > 0 ? [words.jump(row.jump)] : []),
    ...(row.stuckSeconds >= STUCK_SECONDS ? [words.stuck(t.vehicle.duration(row.stuckSeconds))] : []),
    ...(row.valid === 0 ? [words.noValid] : []),
    ...(row.channels.length > 1 ? [words.twoChannels] : []),
    ...(percent < SURE_PERCENT ? [words.unsure(percent)] : []),
  ];
}
