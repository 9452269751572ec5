import type { FastifyInstance } from 'fastify';

interface Count {
  labels: { method: string; route: string; status: string };
  requests: number;
  seconds: number;
}

/** Requests by method, route (as declared, not as asked) and status; how long they took. */
export class RequestCounter {
  private readonly counts = new Map<string, Count>();

  /** Counts every answer of the server from now on. */
  watch(fastify: FastifyInstance): void {
    fastify.addHook('onResponse', async (request, reply) => {
      const route = request.routeOptions.url ?? 'unknown';
      this.add({ method: request.method, route, status: String(reply.statusCode) }, reply.elapsedTime / 1000);
    });
  }

  add(labels: Count['labels'], seconds: number): void {
    const key = `${labels.method} ${labels.route} ${labels.status}`;
    const count = this.counts.get(key) ?? { labels, requests: 0, seconds: 0 };
    count.requests++;
    count.seconds += seconds;
    this.counts.set(key, count);
  }

  get all(): readonly Count[] {
    return [...this.counts.values()];
  }
}
