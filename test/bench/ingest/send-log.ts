import { createReadStream } from 'node:fs';
import { request } from 'node:http';

/** Plain node:http: a web stream as body would cost the sender more CPU than the service spends on receiving. */
export async function sendLog(url: string, file: string, vehicle: string): Promise<void> {
  const { status, text } = await new Promise<{ status: number; text: string }>((resolve, reject) => {
    const outgoing = request(`${url}/v1/logs?vehicle=${vehicle}`, { method: 'POST' }, (response) => {
      response.setEncoding('utf8');
      let text = '';
      response.on('data', (part: string) => (text += part));
      response.on('end', () => resolve({ status: response.statusCode ?? 0, text }));
    });
    outgoing.on('error', reject);
    createReadStream(file, { highWaterMark: 1 << 18 })
      .on('error', reject)
      .pipe(outgoing);
  });
  if (status !== 202) throw new Error(`${file}: ${status} ${text}`);
}
