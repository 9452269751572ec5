import pg from 'pg';
import { GenericContainer, getContainerRuntimeClient, Wait } from 'testcontainers';
import { findPostgres, startPostgres } from '../../../infra/postgres/local.js';

export interface TestPostgres {
  /** Connection URL of a new, empty database. */
  createDatabase(): Promise<string>;
  stop(): Promise<void>;
}

/**
 * A server for tests, in this order: TALLYBAY_TEST_POSTGRES_URL, a container where a runtime answers, a local process.
 * @throws Error that names what is missing
 */
export async function testPostgres(): Promise<TestPostgres> {
  const url = process.env.TALLYBAY_TEST_POSTGRES_URL;
  if (url) return { createDatabase: () => createDatabase(url), stop: async () => {} };
  if (await hasContainers()) return startContainer();
  if (findPostgres() !== null) return startPostgres();
  throw new Error(
    'No PostgreSQL for the tests: set TALLYBAY_TEST_POSTGRES_URL, start a container runtime, or install the package "postgresql"',
  );
}

async function hasContainers(): Promise<boolean> {
  try {
    await getContainerRuntimeClient();
    return true;
  } catch {
    return false;
  }
}

async function startContainer(): Promise<TestPostgres> {
  const container = await new GenericContainer('postgres:17-alpine')
    .withEnvironment({ POSTGRES_PASSWORD: 'tallybay', POSTGRES_USER: 'tallybay' })
    .withExposedPorts(5432)
    // The image starts the server twice: first to initialise, then to serve.
    .withWaitStrategy(Wait.forLogMessage(/ready to accept connections/, 2))
    .start();
  const url = `postgres://tallybay:tallybay@${container.getHost()}:${container.getMappedPort(5432)}/postgres`;
  return { createDatabase: () => createDatabase(url), stop: async () => void (await container.stop()) };
}

let counter = 0;
async function createDatabase(serverUrl: string): Promise<string> {
  const name = `tallybay_test_${process.pid}_${Date.now()}_${++counter}`;
  const client = new pg.Client({ connectionString: serverUrl });
  await client.connect();
  await client.query(`create database ${name}`);
  await client.end();
  const url = new URL(serverUrl);
  url.pathname = `/${name}`;
  return url.href;
}
