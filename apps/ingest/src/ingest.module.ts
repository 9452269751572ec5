import {
  type BeforeApplicationShutdown,
  type DynamicModule,
  Module,
  type OnApplicationBootstrap,
} from '@nestjs/common';
import { Registry } from '@tallybay/registry';
import { HealthController } from './health/health.controller.js';
import { MetricsController } from './health/metrics.controller.js';
import { PipelineController } from './health/pipeline.controller.js';
import { IngestRuntime } from './ingest.runtime.js';
import { LandingStore } from './receive/landing.js';
import { LogReceiver } from './receive/log-receiver.js';
import { ReceiveController } from './receive/receive.controller.js';
import { SnapshotReceiver } from './receive/snapshot-receiver.js';
import { UnderWay } from './receive/under-way.js';
import { TransfersController } from './transfers/transfers.controller.js';
import { Transfers } from './transfers/transfers.js';
import { AsideController } from './uploads/aside.controller.js';
import { Reprocess } from './uploads/reprocess.js';
import { UploadsController } from './uploads/uploads.controller.js';

/** Starts and drains the runtime with the application. */
class Lifecycle implements OnApplicationBootstrap, BeforeApplicationShutdown {
  constructor(private readonly runtime: IngestRuntime) {}

  async onApplicationBootstrap(): Promise<void> {
    await this.runtime.start();
  }

  async beforeApplicationShutdown(): Promise<void> {
    await this.runtime.stop();
  }
}

@Module({})
export class IngestModule {
  static of(runtime: IngestRuntime): DynamicModule {
    const { role } = runtime.config;
    return {
      module: IngestModule,
      controllers:
        role === 'decode'
          ? [PipelineController, HealthController, MetricsController]
          : [
              ReceiveController,
              TransfersController,
              UploadsController,
              AsideController,
              PipelineController,
              HealthController,
              MetricsController,
            ],
      providers: [
        { provide: IngestRuntime, useValue: runtime },
        { provide: Registry, useValue: runtime.registry },
        { provide: LandingStore, useValue: runtime.landing },
        { provide: LogReceiver, useValue: runtime.logs },
        { provide: Transfers, useValue: runtime.transfers },
        { provide: SnapshotReceiver, useValue: runtime.snapshots },
        { provide: Reprocess, useValue: runtime.reprocess },
        { provide: UnderWay, useValue: runtime.underWay },
        { provide: Lifecycle, useFactory: () => new Lifecycle(runtime) },
      ],
    };
  }
}
