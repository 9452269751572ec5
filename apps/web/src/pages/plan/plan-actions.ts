import type { Visit } from '@tallybay/contracts';
import { editOf, sendJson } from '../../data/http.js';

const EDITOR = 'tallybay.editor';

/** The name that goes with changes, kept in this browser. */
export const editorName = (): string => window.localStorage.getItem(EDITOR) ?? '';
export const keepEditorName = (name: string): void => window.localStorage.setItem(EDITOR, name);

export const editorHeader = (): Record<string, string> => {
  const name = editorName().trim();
  return name === '' ? {} : { 'x-tallybay-editor': name };
};

/** One step of a visit, against the version that the reader sees. @throws ProblemError */
export const visitStep = (visit: Visit, step: string, body: unknown = {}): Promise<Visit> =>
  sendJson<Visit>('POST', `/v1/plan/visits/${encodeURIComponent(visit.id)}/${step}`, body, {
    ...editOf(visit.version),
    ...editorHeader(),
  });

/** `2 x hose clamp` or `hose clamp`, one a line. */
export function partsFrom(text: string): { name: string; count: number }[] {
  return text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '')
    .map((line) => {
      const found = /^(\d+(?:\.\d+)?)\s*[x×]\s*(.+)$/i.exec(line);
      return found ? { name: found[2]!, count: Number(found[1]) } : { name: line, count: 1 };
    });
}
