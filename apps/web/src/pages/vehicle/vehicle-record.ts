import type { ProblemDocument, Vehicle } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { editOf, problemOf, sendJson } from '../../data/http.js';
import type { Resource } from '../../data/resource.js';
import { ofVehicle } from './span.js';

export type VehicleRecord = Vehicle & { version: number };

export interface VehicleEdit {
  record: VehicleRecord;
  busy: boolean;
  problem: ProblemDocument | null;
  /** True once this edit was saved. */
  saved: boolean;
  /** Saves the record with these changes against the version that was read; undefined takes a field away. */
  save: (changes: { [K in keyof Vehicle]?: Vehicle[K] | undefined }) => Promise<boolean>;
}

/** Editing one vehicle's record: what others saved meanwhile is not overwritten but reported. */
export function useVehicleEdit(record: VehicleRecord, source: Resource<VehicleRecord>): VehicleEdit {
  const [busy, setBusy] = useState(false);
  const [saved, setSaved] = useState(false);
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const save: VehicleEdit['save'] = async (changes) => {
    setBusy(true);
    setProblem(null);
    setSaved(false);
    const { version, ...before } = record;
    try {
      await sendJson('PUT', ofVehicle(record.id, ''), { ...before, ...changes }, editOf(version));
      setSaved(true);
      source.reload();
      return true;
    } catch (thrown) {
      setProblem(problemOf(thrown));
      return false;
    } finally {
      setBusy(false);
    }
  };
  return { record, busy, problem, saved, save };
}
