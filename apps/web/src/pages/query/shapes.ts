import type { QueryAnswer } from '@tallybay/contracts';

export type { ProblemDocument, QueryResult, QueryStatus, QueryViews, Question } from '@tallybay/contracts';
export type ResultColumnDocument = QueryAnswer['columns'][number];
