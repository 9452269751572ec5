import { request } from 'node:http';

export interface Answer {
  status: number;
  seconds: number;
  bytes: number;
  /** The query's id. */
  id: string;
  /** The body; empty unless it was asked to be kept. */
  text: string;
}

/** One statement over HTTP until its last byte; plain node:http, so that the asker costs little. */
export async function ask(
  url: string,
  question: { sql: string; accept: string; person?: string; keep?: boolean },
): Promise<Answer> {
  const body = JSON.stringify({ sql: question.sql });
  const startMs = performance.now();
  return new Promise((resolve, reject) => {
    const outgoing = request(
      `${url}/v1/query`,
      {
        method: 'POST',
        headers: {
          ...{ 'content-type': 'application/json', 'content-length': Buffer.byteLength(body) },
          ...{ accept: question.accept, 'x-tallybay-person': question.person ?? 'bench' },
        },
      },
      (response) => {
        const kept: Buffer[] = [];
        const status = response.statusCode ?? 0;
        const keep = question.keep || status !== 200;
        let bytes = 0;
        response.on('data', (part: Buffer) => {
          bytes += part.length;
          if (keep) kept.push(part);
        });
        response.on('error', reject);
        response.on('end', () =>
          resolve({
            ...{ status, bytes, seconds: (performance.now() - startMs) / 1000 },
            ...{ id: String(response.headers['x-tallybay-query'] ?? ''), text: Buffer.concat(kept).toString('utf8') },
          }),
        );
      },
    );
    outgoing.on('error', reject);
    outgoing.end(body);
  });
}

/** @throws Error with the service's own words when the answer is not 200 */
export async function mustAsk(url: string, question: Parameters<typeof ask>[1]): Promise<Answer> {
  const answer = await ask(url, question);
  if (answer.status !== 200) throw new Error(`${question.sql}: ${answer.status} ${answer.text}`);
  return answer;
}
