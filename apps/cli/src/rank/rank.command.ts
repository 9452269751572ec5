import { type Ranking, rankingSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { ServiceClient } from '../service/client.js';
import { depotNamer } from '../service/depot-names.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';
import { rankingLines } from './ranking-lines.js';

interface RankOptions {
  url: string;
  week?: string;
  again?: boolean;
  top?: number;
  reasons: number;
  json?: boolean;
}

export function registerRank(program: Command, session: Session): void {
  const command = program
    .command('rank')
    .summary("a week's ranking, with reasons")
    .description(
      "Print a week's ranking: which vehicles first, and why. Without --week the newest one. A week that has not been ranked yet is ranked now.",
    )
    .option('--week <week>', 'ISO week, such as 2026-W41')
    .option('--again', 'rank the week anew, for instance after late uploads')
    .option('--top <n>', 'only the first vehicles', wholeNumber(1))
    .option('--reasons <n>', 'at most this many reasons a vehicle', wholeNumber(0), 4)
    .option('--json', 'print the ranking as the service does');
  addUrl(command).action((options: RankOptions) => rank(options, session));
}

async function rank(options: RankOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  try {
    const ranking = await fetchRanking(client, options);
    if (options.json) return terminal.out(JSON.stringify(ranking, null, 2));
    for (const line of rankingLines(await withDepotNames(client, ranking), options)) terminal.out(line);
  } finally {
    client.close();
  }
}

/** For people: `--json` and the files keep the ids. */
export async function withDepotNames(client: ServiceClient, ranking: Ranking): Promise<Ranking> {
  const named = await depotNamer(client);
  return { ...ranking, ranked: named(ranking.ranked), unranked: named(ranking.unranked) };
}

/** The published ranking of a week (`latest` without one); ranks it first where there is none, or when asked to. */
export async function fetchRanking(
  client: ServiceClient,
  { week, again }: { week?: string; again?: boolean },
): Promise<Ranking> {
  const path = `/v1/rankings/${encodeURIComponent(week ?? 'latest')}`;
  const published = again ? null : await client.find({ method: 'GET', path }, rankingSchema);
  return published ?? client.json({ method: 'POST', path }, rankingSchema);
}
