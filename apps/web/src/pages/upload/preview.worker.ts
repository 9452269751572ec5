import { type Preview, type PreviewRequest, readPreview } from './preview.js';

export type WorkerAnswer =
  | { id: number; kind: 'progress'; share: number }
  | { id: number; kind: 'done'; preview: Preview }
  | { id: number; kind: 'broken'; text: string };

/** One file after the other, in the order of asking: they all share one card reader and one processor anyway. */
let queue: Promise<void> = Promise.resolve();

self.onmessage = ({ data }: MessageEvent<{ id: number; request: PreviewRequest }>) => {
  queue = queue.then(() => work(data.id, data.request));
};

async function work(id: number, request: PreviewRequest): Promise<void> {
  let said = 0;
  const onProgress = (share: number) => {
    if (share < said + 0.02) return;
    said = share;
    answer({ id, kind: 'progress', share });
  };
  try {
    answer({ id, kind: 'done', preview: await readPreview(request, onProgress) });
  } catch (error) {
    answer({ id, kind: 'broken', text: error instanceof Error ? error.message : String(error) });
  }
}

const answer = (message: WorkerAnswer): void => self.postMessage(message);
