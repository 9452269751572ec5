import { createServer } from 'node:net';
import { describe, expect, it, onTestFinished } from 'vitest';
import { type AnyBroker, anyBroker, type BrokerSources } from '../../faults/broker.js';

// The order in which tests take a broker (issue "Apache Kafka for real"): KAFKA_BROKERS, a container, a local process, or a
// failure that says what is missing.

const broker = (origin: AnyBroker['origin']): AnyBroker => ({ brokers: ['x:1'], origin, stop: async () => {} });
const nothing: BrokerSources = {
  named: undefined,
  hasContainerRuntime: async () => false,
  startContainer: async () => broker('testcontainers'),
  missing: () => 'No local Kafka broker: java was not found.',
  startLocal: async () => broker('local process'),
};

async function listener(): Promise<number> {
  const server = createServer((socket) => socket.end());
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => void server.close());
  const address = server.address();
  return address && typeof address === 'object' ? address.port : 0;
}

describe('a broker for tests', () => {
  it('is the named one before all others', async () => {
    const port = await listener();
    const everything = { ...nothing, hasContainerRuntime: async () => true, missing: () => undefined };
    const named = `127.0.0.1:1, 127.0.0.1:${port}`;
    expect(await anyBroker({ ...everything, named })).toMatchObject({
      origin: 'KAFKA_BROKERS',
      brokers: ['127.0.0.1:1', `127.0.0.1:${port}`],
    });
  });

  it('that is named and does not answer is a failure, not a reason to take another', async () => {
    const everything = { ...nothing, hasContainerRuntime: async () => true, missing: () => undefined };
    await expect(anyBroker({ ...everything, named: '127.0.0.1:1' })).rejects.toThrow(/KAFKA_BROKERS is 127\.0\.0\.1:1/);
  });

  it('comes in a container where a runtime answers, else as a local process', async () => {
    const local = { ...nothing, missing: () => undefined };
    expect((await anyBroker({ ...local, hasContainerRuntime: async () => true })).origin).toBe('testcontainers');
    expect((await anyBroker(local)).origin).toBe('local process');
  });

  it('that cannot be had is said with what is missing', async () => {
    await expect(anyBroker(nothing)).rejects.toThrow(
      'KAFKA_BROKERS is not set and no container runtime answers. No local Kafka broker: java was not found.',
    );
  });
});
