import type { Registry, RegistryConfig } from '@tallybay/registry';
import { describeFleet } from './fleet.suite.js';
import { describeJobs } from './jobs.suite.js';
import { describeLimits } from './limits.suite.js';
import { describeNotes } from './notes.suite.js';
import { describeSettings } from './settings.suite.js';
import { describeUploads } from './uploads.suite.js';
import { describeVisitNews } from './visit-news.suite.js';
import { describeWork } from './work.suite.js';

export interface RegistrySource {
  /** A new, empty registry, closed after the test; with the test's clock where given. */
  open(nowMs?: () => number): Promise<Registry>;
  /** Where the registry opened last can be opened a second time. */
  config(): RegistryConfig;
}

/** What holds on every database. */
export function describeRegistry(source: RegistrySource): void {
  describeFleet(source);
  describeUploads(source);
  describeSettings(source);
  describeJobs(source);
  describeNotes(source);
  describeLimits(source);
  describeWork(source);
  describeVisitNews(source);
}
