import type { ProblemDocument } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import { problemWords, sentencesOf } from '../../../../../apps/web/src/data/problem-words.js';
import { en } from '../../../../../apps/web/src/text/en.js';
import { enProblems } from '../../../../../apps/web/src/text/en-problems.js';

const ADDRESS = /\b(GET|POST|PUT|PATCH|DELETE) \//;

const noRanking: ProblemDocument = {
  type: 'urn:tallybay:problem:ranking_unknown',
  ...{ code: 'ranking_unknown', status: 404, title: 'There is no ranking for this week' },
  detail: 'Week 2026-W02 has no ranking',
  advice: 'GET /v1/rankings lists what there is; POST to this address ranks the week now',
  instance: '/v1/rankings/2026-W02',
};

describe('a problem on the page', () => {
  it('says what could not be loaded, why, and what a reader can do; addresses go to the detail', () => {
    expect(problemWords(noRanking, 'the ranking of 2026-W02', enProblems)).toEqual({
      title: 'The ranking of 2026-W02 could not be loaded.',
      said: ['Week 2026-W02 has no ranking.', 'Choose another week; a week is ranked on the Monday after it.'],
      technical: [
        '404 ranking_unknown, /v1/rankings/2026-W02',
        'GET /v1/rankings lists what there is; POST to this address ranks the week now.',
      ],
    });
  });

  it('keeps advice that a reader can follow, and folds nothing away beside it', () => {
    const conflict = { ...noRanking, code: 'edit_conflict', title: 'Somebody else changed this first' };
    const words = problemWords({ ...conflict, advice: 'Load it again' }, null, enProblems);
    expect(words).toEqual({
      title: 'Somebody else changed this first.',
      said: ['Week 2026-W02 has no ranking.', 'Load it again.'],
      technical: [],
    });
  });

  it('has words for a problem that it does not know, too', () => {
    const said = sentencesOf({ detail: 'No', advice: 'DELETE /v1/x', code: 'a_later_one' }, enProblems);
    expect(said).toEqual(['No.', `${enProblems.anyAdvice}.`]);
  });

  it('shows no status where no service answered', () => {
    const words = problemWords({ ...noRanking, status: 0, advice: 'Try again' }, 'the limits', enProblems);
    expect(words.technical).toEqual([]);
  });

  it('no text of the page is an address', () => {
    const texts: string[] = [];
    const collect = (value: unknown): void => {
      if (typeof value === 'string') texts.push(value);
      else if (typeof value === 'object' && value !== null) Object.values(value).forEach(collect);
    };
    collect(en);
    expect(texts.length).toBeGreaterThan(500);
    expect(texts.filter((text) => ADDRESS.test(text))).toEqual([]);
  });
});
