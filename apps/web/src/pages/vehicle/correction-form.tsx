import type { SpeedCorrection } from '@tallybay/contracts';
import { decodeTyre } from '@tallybay/decode';
import { useState } from 'preact/hooks';
import { TextInput } from '../../kit/field.js';
import { t } from '../../text/text.js';
import { effectText } from './settings.js';

const MOST_RATIO = 20;

interface CorrectionFormProps {
  onAdd: (row: SpeedCorrection) => void;
  onCancel: () => void;
}

/** One change of tyres or final drive; says at once what it does to the speed. */
export function CorrectionForm({ onAdd, onCancel }: CorrectionFormProps) {
  const [from, setFrom] = useState('');
  const [setFor, setSetFor] = useState('');
  const [fitted, setFitted] = useState('');
  const [driveSetFor, setDriveSetFor] = useState('');
  const [driveFitted, setDriveFitted] = useState('');
  const [tried, setTried] = useState(false);
  const words = t.vehicle.settings;
  const tyre = (text: string) =>
    text === '' ? (tried ? words.needed : null) : decodeTyre(text).ok ? null : words.badTyre;
  const drive = (text: string) => (text === '' || isRatio(text) ? null : words.badNumber);
  const sound =
    setFor !== '' &&
    fitted !== '' &&
    [tyre(setFor), tyre(fitted), drive(driveSetFor), drive(driveFitted)].every((error) => error === null);
  const row = {
    ...{ tyreSetFor: setFor.trim(), tyreFitted: fitted.trim() },
    ...(driveSetFor ? { finalDriveSetFor: Number(driveSetFor) } : {}),
    ...(driveFitted ? { finalDriveFitted: Number(driveFitted) } : {}),
  };
  const add = (event: Event) => {
    event.preventDefault();
    setTried(true);
    if (sound && from !== '') onAdd({ from: new Date(from).toISOString(), ...row });
  };
  return (
    <form class="card stack inset" aria-label={words.addTitle} onSubmit={add}>
      <h3>{words.addTitle}</h3>
      <div class="row fields">
        <TextInput
          label={words.from}
          type="datetime-local"
          value={from}
          onInput={setFrom}
          error={tried && from === '' ? words.needed : null}
        />
        <TextInput
          label={words.tyreSetFor}
          value={setFor}
          onInput={setSetFor}
          hint={words.tyreHint}
          error={tyre(setFor)}
        />
        <TextInput
          label={words.tyreFitted}
          value={fitted}
          onInput={setFitted}
          hint={words.tyreHint}
          error={tyre(fitted)}
        />
        <TextInput
          label={words.driveSetFor}
          value={driveSetFor}
          onInput={setDriveSetFor}
          hint={words.driveHint}
          error={drive(driveSetFor)}
        />
        <TextInput
          label={words.driveFitted}
          value={driveFitted}
          onInput={setDriveFitted}
          hint={words.driveHint}
          error={drive(driveFitted)}
        />
      </div>
      {sound && (
        <p role="status">
          {words.effect}: <strong>{effectText(row)}</strong>
        </p>
      )}
      <div class="row">
        <button type="submit" class="main">
          {words.add}
        </button>
        <button type="button" onClick={onCancel}>
          {t.actions.cancel}
        </button>
      </div>
    </form>
  );
}

const isRatio = (text: string): boolean => Number(text) > 0 && Number(text) <= MOST_RATIO;
