import type { ExtremesReset, NewExtremesReset, ProblemDocument, VehicleExtremes } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { problemOf, sendJson } from '../../data/http.js';
import { Dialog } from '../../kit/dialog.js';
import { Select, TextInput } from '../../kit/field.js';
import { ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import { ofVehicle } from './span.js';

interface ResetDialogProps {
  data: VehicleExtremes;
  onClose: (changed: boolean) => void;
}

/** A person sets lowest and highest back, with name and reason. */
export function ResetDialog({ data, onClose }: ResetDialogProps) {
  const [signal, setSignal] = useState('');
  const [by, setBy] = useState('');
  const [reason, setReason] = useState('');
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const [busy, setBusy] = useState(false);
  const words = t.vehicle.extremes;
  const save = async (event: Event) => {
    event.preventDefault();
    setBusy(true);
    const body: NewExtremesReset = { by, reason, ...(signal === '' ? {} : { signals: [signal] }) };
    try {
      await sendJson<ExtremesReset>('POST', ofVehicle(data.vehicle, 'extremes/resets'), body);
      onClose(true);
    } catch (thrown) {
      setProblem(problemOf(thrown));
      setBusy(false);
    }
  };
  return (
    <Dialog title={words.resetTitle} onClose={() => onClose(false)}>
      <p>{words.resetLead}</p>
      <form class="stack" onSubmit={(event) => void save(event)}>
        <Select
          label={words.which}
          value={signal}
          options={[
            { value: '', text: words.allSignals },
            ...data.signals.map((row) => ({ value: row.signal, text: row.label })),
          ]}
          onChange={setSignal}
        />
        <TextInput label={words.reason} value={reason} onInput={setReason} hint={words.reasonHint} />
        <TextInput label={words.by} value={by} onInput={setBy} />
        {problem && <ProblemNotice problem={problem} />}
        <button type="submit" class="main" disabled={busy || by.trim() === '' || reason.trim() === ''}>
          {words.save}
        </button>
      </form>
    </Dialog>
  );
}
