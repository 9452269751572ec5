import type { ProblemDocument, SettingDocument } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { editOf, getJson, problemOf, sendJson } from '../../data/http.js';
import { editorHeader } from '../plan/plan-actions.js';
import { type DraftRow, documentOf, draftOf, type FieldProblem, problemsOf, rebased } from './fields.js';
import { type SettingId, SPECS } from './tables.js';

type Document = Record<string, unknown>;

/** One setting while it is edited. */
export interface EditedSetting {
  id: SettingId;
  standing: SettingDocument;
  draft: DraftRow;
  changed: boolean;
  /** What does not fit, once saving was tried; follows what is typed. */
  problems: readonly FieldProblem[];
  /** Why it was not saved. */
  problem: ProblemDocument | null;
  /** What somebody else saved meanwhile. */
  theirs: SettingDocument | null;
  /** Keys that both changed, once my changes stand on theirs. */
  both: readonly string[] | null;
  edit(draft: DraftRow): void;
  undo(): void;
  save(): Promise<boolean>;
  takeTheirs(): void;
  putOnTheirs(): void;
}

/** The list of kinds is the only setting that is no object: in a form it is the one field of one. */
const opened = (id: SettingId, document: unknown): Document =>
  id === 'shop-kinds' ? { kinds: document } : (document as Document);
const closed = (id: SettingId, document: Document): unknown => (id === 'shop-kinds' ? document.kinds : document);

interface Held {
  standing: SettingDocument;
  draft: DraftRow;
  tried: boolean;
  refused: readonly FieldProblem[];
  problem: ProblemDocument | null;
  theirs: SettingDocument | null;
  both: readonly string[] | null;
}

const held = (id: SettingId, standing: SettingDocument): Held => ({
  standing,
  draft: draftOf(SPECS[id], opened(id, standing.document)),
  ...{ tried: false, refused: [], problem: null, theirs: null, both: null },
});

export function useEditedSetting(first: SettingDocument): EditedSetting {
  const id = first.name as SettingId;
  const specs = SPECS[id];
  const [state, setState] = useState(() => held(id, first));
  const put = (part: Partial<Held>) => setState((before) => ({ ...before, ...part }));
  const mine = documentOf(specs, state.draft);
  const base = opened(id, state.standing.document);
  const own = state.tried ? problemsOf(specs, state.draft) : [];
  const save = async () => {
    if (problemsOf(specs, state.draft).length > 0) {
      put({ tried: true, refused: [] });
      return false;
    }
    try {
      const headers = { ...editOf(state.standing.version), ...editorHeader() };
      const saved = await sendJson<SettingDocument>('PUT', `/v1/settings/${id}`, closed(id, mine), headers);
      setState(held(id, saved));
      return true;
    } catch (thrown) {
      const problem = problemOf(thrown);
      const theirs = problem.code === 'edit_conflict' ? await newest(id) : null;
      put({ tried: true, problem, theirs, refused: refusedFields(id, problem), both: null });
      return false;
    }
  };
  return {
    ...{ id, standing: state.standing, draft: state.draft, problem: state.problem, theirs: state.theirs },
    ...{ both: state.both, problems: own.length > 0 ? own : state.refused, save },
    changed: state.both !== null || !same(mine, documentOf(specs, draftOf(specs, base))),
    edit: (draft) => put({ draft, refused: [], problem: state.theirs ? state.problem : null }),
    undo: () => setState(held(id, state.standing)),
    takeTheirs: () => state.theirs && setState(held(id, state.theirs)),
    putOnTheirs: () => {
      if (!state.theirs) return;
      const { document, both } = merged(id, { base, mine, theirs: opened(id, state.theirs.document) });
      setState({ ...held(id, state.theirs), draft: draftOf(specs, document), both });
    },
  };
}

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);

const newest = (id: SettingId): Promise<SettingDocument | null> =>
  getJson<SettingDocument>(`/v1/settings/${id}`).catch(() => null);

/** The service names fields of its own document; the form's one has the list of kinds inside. */
function refusedFields(id: SettingId, { field, fields, detail }: ProblemDocument): FieldProblem[] {
  const all = fields ?? (field === undefined ? [] : [{ field, text: detail }]);
  return id === 'shop-kinds' ? all.map((one) => ({ ...one, field: `kinds.${one.field}` })) : all;
}

/** Kinds are told apart by their ids, everything else by the document's keys. */
export function merged(id: SettingId, { base, mine, theirs }: Record<'base' | 'mine' | 'theirs', Document>) {
  if (id !== 'shop-kinds') return rebased(base, mine, theirs);
  const byId = ({ kinds }: Document): Document =>
    Object.fromEntries((kinds as { id: string }[]).map((kind) => [kind.id, kind]));
  const { document, both } = rebased(byId(base), byId(mine), byId(theirs));
  const names = both.map((key) => (document[key] as { label?: string } | undefined)?.label ?? key);
  return { document: { kinds: Object.values(document) }, both: names };
}
