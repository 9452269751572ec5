import { type Ranking, type RankingList, TallybayError } from '@tallybay/contracts';
import { listRankings, readRanking } from '@tallybay/lake';
import { isoWeekOf } from '@tallybay/risk';
import type { WeeklyJob } from './weekly-job.js';

const LATEST = 'latest';

/** Published rankings, and new ones by hand. */
export class Rankings {
  constructor(
    private readonly lakeDirectory: string,
    private readonly job: WeeklyJob,
    private readonly nowMs: () => number,
  ) {}

  async list(): Promise<RankingList> {
    return { rankings: await listRankings(this.lakeDirectory) };
  }

  /** @param name ISO week, or `latest` for the newest published. @throws TallybayError `ranking_unknown`, `week_invalid` */
  async read(name: string, revision?: number): Promise<Ranking> {
    const week = name === LATEST ? (await listRankings(this.lakeDirectory))[0]?.week : name;
    const ranking = week === undefined ? null : await readRanking(this.lakeDirectory, week, revision);
    if (ranking) return ranking;
    const what = week === undefined ? 'No week has been ranked yet' : `Week ${week} has no ranking`;
    throw new TallybayError('ranking_unknown', revision === undefined ? what : `${what} of revision ${revision}`, {
      advice: 'GET /v1/rankings lists what there is; POST to this address ranks the week now',
    });
  }

  /** @param name ISO week, or `latest` for the newest complete week with data */
  async run(name: string): Promise<Ranking> {
    const nowMs = this.nowMs();
    const week = name === LATEST ? await this.job.latestWeek(nowMs, isoWeekOf(nowMs, 'UTC')) : name;
    return (await this.job.run(week, nowMs)).ranking;
  }
}
