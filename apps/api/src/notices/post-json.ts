const TIMEOUT_MS = 10_000;

/** Sends a JSON document to somebody else's address. @throws Error when it is not taken within ten seconds */
export async function postJson(url: string, body: unknown): Promise<void> {
  const response = await fetch(url, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
    redirect: 'error',
    signal: AbortSignal.timeout(TIMEOUT_MS),
  });
  await response.body?.cancel();
  if (!response.ok) throw new Error(`${new URL(url).host} answered with status ${response.status}`);
}
