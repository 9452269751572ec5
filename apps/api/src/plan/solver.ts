import { Worker } from 'node:worker_threads';
import type { PlanReport } from '@tallybay/contracts';
import type { PlannedVisit, ShopPlan } from '@tallybay/plan';

export interface ThreadTask {
  plan: ShopPlan;
  seconds: number;
  atIso: string;
}

export interface SolvedShopPlan {
  visits: PlannedVisit[];
  report: PlanReport;
}

export interface SolveProgress {
  seconds: number;
  cost: number;
  bound: number | null;
}

/** Solves a plan somewhere that may be held up. */
export type Solver = (task: ThreadTask, onProgress: (progress: SolveProgress) => void) => Promise<SolvedShopPlan>;

/** In a thread of its own, which ends with the plan. */
export const solveInThread: Solver = (task, onProgress) =>
  new Promise((resolve, reject) => {
    const worker = new Worker(new URL('./plan-thread.js', import.meta.url), { workerData: task });
    worker.on('message', (message: { progress?: SolveProgress; done?: SolvedShopPlan }) => {
      if (message.progress) onProgress(message.progress);
      if (message.done) resolve(message.done);
    });
    worker.on('error', reject);
    // After an answer this changes nothing.
    worker.on('exit', (code) => reject(new Error(`the planning thread ended with ${code} before it had a plan`)));
  });
