import type { ProblemDocument } from '@tallybay/contracts';
import type { enProblems } from '../text/en-problems.js';

export interface ProblemWords {
  title: string;
  /** Sentences for the reader: what was wrong, and what to do. */
  said: string[];
  /** For whoever runs the server or asks it by a program; empty when there is nothing beyond the sentences. */
  technical: string[];
}

/** As much of a problem as it takes to say it. */
export type SaidProblem = Pick<ProblemDocument, 'detail' | 'advice'> & { code?: string | undefined };

/** "GET /v1/vehicles": an address that a program asks, nothing that a reader of the page can follow. */
const ADDRESS = /\b(GET|POST|PUT|PATCH|DELETE) \//;

/**
 * A problem in words for a reader of the page. The service writes its advice for everybody, programs included; where
 * that advice is an address, the page's own advice for this problem stands in its place and the address goes to the detail.
 * @param what what could not be fetched, as a noun phrase; null when something else did not work
 */
export function problemWords(problem: ProblemDocument, what: string | null, text: typeof enProblems): ProblemWords {
  const { title, advice, code, status, instance } = problem;
  const forPrograms = isForPrograms(advice);
  const answered = status > 0 && (forPrograms || what !== null);
  return {
    title: sentence(what === null ? title : text.notLoaded(what)),
    said: sentencesOf(problem, text),
    technical: [
      ...(answered ? [[`${status} ${code}`, instance].filter(Boolean).join(', ')] : []),
      ...(forPrograms ? [sentence(advice)] : []),
    ],
  };
}

/** What was wrong, and what to do, where there is room for no more than sentences. */
export function sentencesOf({ detail, advice, code }: SaidProblem, text: typeof enProblems): string[] {
  const todo = isForPrograms(advice) ? (text.advice[code ?? ''] ?? text.anyAdvice) : advice;
  return [sentence(detail), ...(todo ? [sentence(todo)] : [])];
}

const isForPrograms = (advice: string | undefined): advice is string => advice !== undefined && ADDRESS.test(advice);

const sentence = (text: string): string => (/[.!?]$/.test(text) ? text : `${text}.`);
