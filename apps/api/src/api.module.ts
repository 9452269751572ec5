import {
  type BeforeApplicationShutdown,
  type DynamicModule,
  Module,
  type OnApplicationBootstrap,
  type OnApplicationShutdown,
} from '@nestjs/common';
import { Registry } from '@tallybay/registry';
import { ApiRuntime } from './api.runtime.js';
import { CodesController } from './codes/codes.controller.js';
import { FleetCodesReport } from './codes/fleet-codes.js';
import { DepotsController } from './fleet/depots.controller.js';
import { FleetController } from './fleet/fleet.controller.js';
import { FleetReadinessController } from './fleet/fleet-readiness.controller.js';
import { FleetReadinessReport } from './fleet/fleet-readiness.js';
import { ProfilesController } from './fleet/profiles.controller.js';
import { RecordersController } from './fleet/recorders.controller.js';
import { VehiclesController } from './fleet/vehicles.controller.js';
import { HealthController } from './health/health.controller.js';
import { MetricsController } from './health/metrics.controller.js';
import { Readiness } from './health/readiness.js';
import { Crossings } from './limits/crossings.js';
import { CrossingsTrials } from './limits/crossings-trial.js';
import { Extremes } from './limits/extremes.js';
import { LimitsController } from './limits/limits.controller.js';
import { NoticesController } from './notices/notices.controller.js';
import { InspectionDesk } from './plan/inspection-desk.js';
import { InspectionsController, PlanController } from './plan/plan.controller.js';
import { PlanView } from './plan/plan-view.js';
import { ShopPlanner } from './plan/shop-planner.js';
import { VisitDesk } from './plan/visit-desk.js';
import { PlanFeedsController, VisitsController } from './plan/visits.controller.js';
import { KeptAnswers } from './query/kept-answers.js';
import { LakeController } from './query/lake.controller.js';
import { LakeSqlController } from './query/lake-sql.controller.js';
import { QueryController } from './query/query.controller.js';
import { QueryService } from './query/query-service.js';
import { QuestionsController } from './query/questions.controller.js';
import { ResultsController } from './query/results.controller.js';
import { RankingPreviews } from './rankings/ranking-preview.js';
import { RankingsController } from './rankings/rankings.controller.js';
import { Rankings } from './rankings/rankings.js';
import { RecordingsController } from './recordings/recordings.controller.js';
import { Recordings } from './recordings/recordings.js';
import { EditedSettings } from './settings/edited-settings.js';
import { LimitsTrialController } from './settings/limits-trial.controller.js';
import { LimitsTrials } from './settings/limits-trial.js';
import { SettingsController } from './settings/settings.controller.js';
import { VehicleEvidenceController } from './vehicles/vehicle-evidence.controller.js';
import { VehicleEvidenceReader } from './vehicles/vehicle-evidence.js';
import { VehicleHistoryController } from './vehicles/vehicle-history.controller.js';
import { VehicleHistory } from './vehicles/vehicle-history.js';
import { VehicleResidualsReader } from './vehicles/vehicle-residuals.js';
import { VehicleWeeksController } from './vehicles/vehicle-weeks.controller.js';
import { VehicleWeeksReader } from './vehicles/vehicle-weeks.js';

/** Starts and drains the runtime with the application; the registry stays open until the last request is answered. */
class Lifecycle implements OnApplicationBootstrap, BeforeApplicationShutdown, OnApplicationShutdown {
  constructor(private readonly runtime: ApiRuntime) {}

  onApplicationBootstrap(): Promise<void> {
    return this.runtime.start();
  }

  beforeApplicationShutdown(): Promise<void> {
    return this.runtime.drain();
  }

  onApplicationShutdown(): Promise<void> {
    return this.runtime.close();
  }
}

const CONTROLLERS = [
  RankingsController,
  FleetController,
  FleetReadinessController,
  CodesController,
  DepotsController,
  VehiclesController,
  VehicleHistoryController,
  VehicleEvidenceController,
  VehicleWeeksController,
  RecordingsController,
  RecordersController,
  ProfilesController,
  SettingsController,
  LimitsTrialController,
  LimitsController,
  QueryController,
  QuestionsController,
  ResultsController,
  LakeController,
  LakeSqlController,
  PlanController,
  InspectionsController,
  VisitsController,
  PlanFeedsController,
  NoticesController,
  HealthController,
  MetricsController,
];

@Module({})
class ApiModule {}

export const apiModule = (runtime: ApiRuntime): DynamicModule => ({
  module: ApiModule,
  controllers: CONTROLLERS,
  providers: [
    { provide: ApiRuntime, useValue: runtime },
    { provide: Registry, useValue: runtime.registry },
    { provide: Rankings, useValue: runtime.rankings },
    { provide: RankingPreviews, useValue: runtime.rankingPreviews },
    { provide: VehicleHistory, useValue: runtime.history },
    { provide: FleetReadinessReport, useValue: runtime.fleetReadiness },
    { provide: FleetCodesReport, useValue: runtime.fleetCodes },
    { provide: VehicleEvidenceReader, useValue: runtime.evidence },
    { provide: VehicleWeeksReader, useValue: runtime.vehicleWeeks },
    { provide: VehicleResidualsReader, useValue: runtime.vehicleResiduals },
    { provide: Recordings, useValue: runtime.recordings },
    { provide: LimitsTrials, useValue: runtime.limitsTrials },
    { provide: Crossings, useValue: runtime.crossings },
    { provide: CrossingsTrials, useValue: runtime.crossingsTrials },
    { provide: Extremes, useValue: runtime.extremes },
    { provide: EditedSettings, useValue: runtime.settings },
    { provide: QueryService, useValue: runtime.queries },
    { provide: KeptAnswers, useValue: runtime.keptAnswers },
    { provide: ShopPlanner, useValue: runtime.planner },
    { provide: InspectionDesk, useValue: runtime.inspectionDesk },
    { provide: VisitDesk, useValue: runtime.visitDesk },
    { provide: PlanView, useValue: runtime.planView },
    { provide: Readiness, useValue: runtime.readiness },
    { provide: Lifecycle, useFactory: () => new Lifecycle(runtime) },
  ],
});
