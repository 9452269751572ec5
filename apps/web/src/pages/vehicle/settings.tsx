import type { SpeedCorrection } from '@tallybay/contracts';
import { speedCorrectionFactor } from '@tallybay/decode';
import { useEffect, useState } from 'preact/hooks';
import type { Resource } from '../../data/resource.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { CorrectionForm } from './correction-form.js';
import { Wide } from './section.js';
import { useVehicleEdit, type VehicleRecord } from './vehicle-record.js';
import { DepotTime } from './when.js';

interface SettingsProps {
  record: VehicleRecord;
  source: Resource<VehicleRecord>;
  timeZone: string;
}

/** Changes of tyres and final drive; each counts from its date on until the next. */
export function Settings({ record, source, timeZone }: SettingsProps) {
  const stored = record.speedCorrections ?? [];
  const [rows, setRows] = useState<readonly SpeedCorrection[]>(stored);
  const [adding, setAdding] = useState(false);
  const edit = useVehicleEdit(record, source);
  useEffect(() => setRows(record.speedCorrections ?? []), [record.version]);
  const changed = JSON.stringify(rows) !== JSON.stringify(stored);
  const time = new DepotTime(timeZone);
  const words = t.vehicle.settings;
  return (
    <>
      {rows.length === 0 ? (
        <p>{words.none}</p>
      ) : (
        <CorrectionTable rows={rows} time={time} onRemove={(row) => setRows(rows.filter((one) => one !== row))} />
      )}
      {adding ? (
        <CorrectionForm
          onAdd={(row) => {
            // From one instant on only one change can be in force: the newer entry corrects the older one.
            const others = rows.filter(({ from }) => from !== row.from);
            setRows([...others, row].sort((a, b) => (a.from < b.from ? -1 : 1)));
            setAdding(false);
          }}
          onCancel={() => setAdding(false)}
        />
      ) : (
        <button type="button" onClick={() => setAdding(true)}>
          {words.add}
        </button>
      )}
      {changed && (
        <Notice kind="caution" title={words.unsaved} live>
          <div class="row">
            <button
              type="button"
              class="main"
              disabled={edit.busy}
              onClick={() => void edit.save({ speedCorrections: rows.length > 0 ? [...rows] : undefined })}
            >
              {words.save}
            </button>
            <button type="button" onClick={() => setRows(stored)}>
              {words.undo}
            </button>
          </div>
        </Notice>
      )}
      {edit.problem && <ProblemNotice problem={edit.problem} onRetry={source.reload} />}
      {edit.saved && !changed && <Notice kind="good" title={words.saved(record.version)} live />}
      <p class="quiet">{words.version(record.version)}</p>
    </>
  );
}

interface CorrectionTableProps {
  rows: readonly SpeedCorrection[];
  time: DepotTime;
  onRemove: (row: SpeedCorrection) => void;
}

function CorrectionTable({ rows, time, onRemove }: CorrectionTableProps) {
  const words = t.vehicle.settings;
  return (
    <Wide label={t.vehicle.sections.settings}>
      <table class="facts">
        <caption class="only-read">{t.vehicle.sections.settings}</caption>
        <thead>
          <tr>
            {[words.from, words.tyreSetFor, words.tyreFitted, words.driveSetFor, words.driveFitted].map((head) => (
              <th key={head} scope="col">
                {head}
              </th>
            ))}
            <th scope="col" class="end">
              {words.effect}
            </th>
            <td />
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row.from}>
              <th scope="row" class="nowrap">
                {time.date(row.from)}
              </th>
              <td>{row.tyreSetFor}</td>
              <td>{row.tyreFitted}</td>
              <td>{row.finalDriveSetFor ?? t.vehicle.dwell.zero}</td>
              <td>{row.finalDriveFitted ?? t.vehicle.dwell.zero}</td>
              <td class="end nowrap">{effectText(row)}</td>
              <td class="end">
                <button
                  type="button"
                  class="small"
                  aria-label={words.removeOf(time.date(row.from))}
                  onClick={() => onRemove(row)}
                >
                  {words.remove}
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

export function effectText(row: Omit<SpeedCorrection, 'from'>): string {
  const factor = speedCorrectionFactor({
    ...{ oldTyre: row.tyreSetFor, newTyre: row.tyreFitted },
    ...(row.finalDriveSetFor ? { oldAxleRatio: row.finalDriveSetFor } : {}),
    ...(row.finalDriveFitted ? { newAxleRatio: row.finalDriveFitted } : {}),
  });
  return factor.ok ? t.vehicle.settings.factor(factor.value) : t.vehicle.settings.badTyre;
}
