import { randomUUID } from 'node:crypto';
import { access, constants } from 'node:fs/promises';
import { initLake, Lake, rankingsDirectory } from '@tallybay/lake';
import { openRegistry, type Registry } from '@tallybay/registry';
import { openStream, type Stream, type StreamProducer } from '@tallybay/stream';
import { stopTraces } from '@tallybay/trace';
import type { Logger } from 'pino';
import type { ApiConfig } from './api.config.js';
import { FleetCodesReport } from './codes/fleet-codes.js';
import { FleetReadinessReport } from './fleet/fleet-readiness.js';
import { Readiness } from './health/readiness.js';
import { RequestCounter } from './health/request-counter.js';
import { Crossings } from './limits/crossings.js';
import { CrossingsTrials } from './limits/crossings-trial.js';
import { Extremes } from './limits/extremes.js';
import { NoticeGatherer } from './notices/notice-gatherer.js';
import { NoticeSchedule } from './notices/notice-schedule.js';
import { NoticeSender } from './notices/notice-sender.js';
import { postJson } from './notices/post-json.js';
import { smtpMailer } from './notices/smtp.js';
import { BoardReader } from './plan/board-reader.js';
import { InspectionDesk } from './plan/inspection-desk.js';
import { PlanNews } from './plan/plan-news.js';
import { PlanView } from './plan/plan-view.js';
import { repairsOf } from './plan/repairs.js';
import { ShopPlanner } from './plan/shop-planner.js';
import { ShopReader } from './plan/shop-reader.js';
import { solveInThread } from './plan/solver.js';
import { VisitDesk } from './plan/visit-desk.js';
import { KeptAnswers } from './query/kept-answers.js';
import { STANDARD_LIMITS } from './query/query-limits.js';
import { QueryService } from './query/query-service.js';
import { QuestionSchedule } from './query/question-schedule.js';
import { RankingSchedule } from './rankings/ranking.schedule.js';
import { RankingNews } from './rankings/ranking-news.js';
import { RankingPreviews } from './rankings/ranking-preview.js';
import { Rankings } from './rankings/rankings.js';
import { WeeklyJob } from './rankings/weekly-job.js';
import { ClassHistories } from './readiness/class-histories.js';
import { Recordings } from './recordings/recordings.js';
import { EditedSettings } from './settings/edited-settings.js';
import { LimitsTrials } from './settings/limits-trial.js';
import { LakeUpkeeper } from './upkeep/lake-upkeep.js';
import { UpkeepSchedule } from './upkeep/upkeep.schedule.js';
import { VehicleEvidenceReader } from './vehicles/vehicle-evidence.js';
import { VehicleHistory } from './vehicles/vehicle-history.js';
import { VehicleResidualsReader } from './vehicles/vehicle-residuals.js';
import { VehicleWeeksReader } from './vehicles/vehicle-weeks.js';

/** Weeks are counted somewhere even before the first depot is registered. */
const ZONE_WITHOUT_DEPOTS = 'UTC';

/** Files that went out of use stay at least so long: the service's own questions have no limit of time. */
const SHORTEST_GRACE_MS = 3_600_000;

/** Everything the process consists of, built once; Nest only routes to it. */
export class ApiRuntime {
  readonly settings: EditedSettings;
  readonly rankings: Rankings;
  readonly rankingPreviews: RankingPreviews;
  readonly history: VehicleHistory;
  readonly evidence: VehicleEvidenceReader;
  readonly vehicleWeeks: VehicleWeeksReader;
  readonly vehicleResiduals: VehicleResidualsReader;
  readonly recordings: Recordings;
  readonly fleetReadiness: FleetReadinessReport;
  readonly fleetCodes: FleetCodesReport;
  readonly limitsTrials: LimitsTrials;
  readonly crossings: Crossings;
  readonly crossingsTrials: CrossingsTrials;
  readonly extremes: Extremes;
  readonly queries: QueryService;
  readonly keptAnswers: KeptAnswers;
  readonly questions: QuestionSchedule;
  readonly readiness: Readiness;
  readonly requests = new RequestCounter();
  readonly shop: ShopReader;
  readonly inspectionDesk: InspectionDesk;
  readonly planner: ShopPlanner;
  readonly visitDesk: VisitDesk;
  readonly planView: PlanView;
  private readonly planNews: PlanNews;
  private readonly notices: NoticeSchedule;
  readonly upkeeper: LakeUpkeeper;
  private readonly upkeep: UpkeepSchedule;
  private readonly schedule: RankingSchedule | null;
  private readonly news: RankingNews;
  private stream: Promise<Stream> | null = null;
  private streamProducer: Promise<StreamProducer> | null = null;

  private constructor(
    readonly config: ApiConfig,
    readonly log: Logger,
    readonly registry: Registry,
    readonly nowMs: () => number,
  ) {
    const { lakeDirectory, schedule } = config;
    const openLake = () => Lake.open(lakeDirectory);
    this.settings = new EditedSettings(registry);
    const rules = () => this.settings.rules();
    const producer = () => this.producer();
    this.news = new RankingNews({ registry, lakeDirectory, producer, log, nowMs });
    const onPublished = () => this.news.tell();
    this.shop = new ShopReader(registry, this.settings, nowMs);
    const repairs = async () => repairsOf(registry, await this.shop.kinds());
    const job = new WeeklyJob({ registry, lakeDirectory, openLake, rules, repairs, onPublished });
    this.rankings = new Rankings(lakeDirectory, job, nowMs);
    const completeWeeks = (atMs: number) => job.completeWeeks(atMs);
    this.rankingPreviews = new RankingPreviews({ registry, openLake, rules, completeWeeks, nowMs });
    const classes = new ClassHistories(registry, lakeDirectory, rules, nowMs);
    this.history = new VehicleHistory(registry, lakeDirectory, rules, nowMs, classes);
    this.limitsTrials = new LimitsTrials(registry, lakeDirectory, rules, nowMs);
    this.crossings = new Crossings(registry, lakeDirectory);
    const signalLimits = () => this.settings.signalLimits();
    this.crossingsTrials = new CrossingsTrials(registry, lakeDirectory, rules, signalLimits);
    this.extremes = new Extremes(registry, lakeDirectory);
    this.fleetReadiness = new FleetReadinessReport(registry, lakeDirectory, rules, nowMs);
    const desk = { registry, shop: this.shop, lakeDirectory, readiness: this.fleetReadiness, rules };
    this.inspectionDesk = new InspectionDesk(desk);
    const mail = config.mail ? smtpMailer(config.mail) : null;
    const sender = new NoticeSender({ registry, shop: this.shop, log, mail, post: postJson });
    this.planNews = new PlanNews({ registry, shop: this.shop, producer, log, post: postJson });
    const { planNews } = this;
    const telling = { registry, gatherer: new NoticeGatherer(desk), sender, planNews, owner: randomUUID(), log };
    this.notices = new NoticeSchedule(telling);
    const board = new BoardReader(registry, this.shop);
    const planning = { board, desk: this.inspectionDesk, solver: solveInThread, news: this.planNews };
    this.planner = new ShopPlanner(planning);
    this.visitDesk = new VisitDesk(board, this.planNews);
    this.planView = new PlanView(registry, this.shop);
    this.fleetCodes = new FleetCodesReport(registry, lakeDirectory, rules, nowMs);
    this.evidence = new VehicleEvidenceReader(registry, lakeDirectory, rules, nowMs);
    this.vehicleWeeks = new VehicleWeeksReader(registry, lakeDirectory, rules, nowMs);
    this.vehicleResiduals = new VehicleResidualsReader(registry, lakeDirectory, rules, nowMs);
    this.recordings = new Recordings(registry, lakeDirectory, rules);
    const { results, keepDays, processes, threads } = config.query;
    const options = { processes, threads, memoryMb: STANDARD_LIMITS.everyone.memoryMb };
    this.queries = new QueryService({ registry, lakeDirectory, resultsDirectory: results, rules, log, nowMs, options });
    this.keptAnswers = new KeptAnswers({ registry, queries: this.queries, directory: results, keepDays, nowMs });
    const owner = randomUUID();
    this.questions = new QuestionSchedule({ registry, answers: this.keptAnswers, log, owner, nowMs });
    const keeping = () => this.settings.lakeKeeping();
    const graceMs = async () => Math.max(SHORTEST_GRACE_MS, 2_000 * (await this.queries.limits.longestSeconds()));
    this.upkeeper = new LakeUpkeeper({ registry, lakeDirectory, keeping, graceMs, nowMs });
    this.upkeep = new UpkeepSchedule({ registry, upkeeper: this.upkeeper, owner: randomUUID(), log });
    this.readiness = new Readiness({
      registry: () => registry.ping(),
      lake: () => access(rankingsDirectory(lakeDirectory), constants.R_OK | constants.W_OK),
    });
    const timeZone = async () => (await registry.depots.list())[0]?.timeZone ?? ZONE_WITHOUT_DEPOTS;
    this.schedule = schedule.enabled ? new RankingSchedule({ job, log, nowMs, timeZone }, schedule.pattern) : null;
  }

  /** @throws TallybayError `registry_unavailable`, `registry_newer`, `lake_unwritable` */
  static async open(config: ApiConfig, log: Logger, nowMs: () => number = Date.now): Promise<ApiRuntime> {
    initLake(config.lakeDirectory);
    const onConnectionLost = (error: Error) => log.warn({ err: error }, 'a registry connection was lost');
    const registry = await openRegistry({ ...config.registry, nowMs, onConnectionLost });
    return new ApiRuntime(config, log, registry, nowMs);
  }

  async start(): Promise<void> {
    void this.news.tell();
    void this.planNews.tell();
    this.questions.start();
    this.notices.start();
    this.upkeep.start();
    await this.schedule?.start();
  }

  /** Not ready any more, no new run; one that is under way may finish. */
  async drain(): Promise<void> {
    this.readiness.drain();
    await this.questions.stop();
    await this.notices.stop();
    await this.upkeep.stop();
    await this.schedule?.stop();
  }

  async close(): Promise<void> {
    this.recordings.close();
    await this.queries.close();
    await this.planner.settled();
    await this.planNews.close();
    await this.news.close();
    await (await this.stream?.catch(() => null))?.close();
    await this.registry.close();
    await stopTraces();
  }

  /** Opened when there is something to tell: without events the api does not need the stream. */
  private producer(): Promise<StreamProducer> {
    this.stream ??= this.openStream();
    this.streamProducer ??= this.stream.then((stream) => stream.producer());
    this.streamProducer.catch(() => {
      this.stream = null;
      this.streamProducer = null;
    });
    return this.streamProducer;
  }

  private async openStream(): Promise<Stream> {
    const onProblem = (error: Error) => this.log.warn({ err: error }, 'stream');
    const stream = await openStream(this.config.stream, { onProblem });
    try {
      await stream.prepare();
      return stream;
    } catch (error) {
      await stream.close();
      throw error;
    }
  }
}
