import type { Preview, PreviewRequest } from './preview.js';
import type { WorkerAnswer } from './preview.worker.js';

interface Asked {
  onProgress: (share: number) => void;
  resolve: (preview: Preview) => void;
}

const asked = new Map<number, Asked>();
let worker: Worker | null = null;
let lastId = 0;

/** The file's preview, made beside the page so that scrolling stays smooth. A file that cannot be read is `refused`. */
export function previewOf(request: PreviewRequest, onProgress: (share: number) => void): Promise<Preview> {
  const id = ++lastId;
  return new Promise((resolve) => {
    asked.set(id, { onProgress, resolve });
    running().postMessage({ id, request });
  });
}

function running(): Worker {
  worker ??= new Worker(new URL('./preview.worker.ts', import.meta.url), { type: 'module' });
  worker.onmessage = ({ data }: MessageEvent<WorkerAnswer>) => {
    const one = asked.get(data.id);
    if (!one) return;
    if (data.kind === 'progress') return one.onProgress(data.share);
    asked.delete(data.id);
    one.resolve(
      data.kind === 'done' ? data.preview : { kind: 'refused', problem: { detail: data.text, advice: 'unreadable' } },
    );
  };
  return worker;
}
