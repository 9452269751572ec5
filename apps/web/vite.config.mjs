import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

const api = process.env.TALLYBAY_API_URL ?? 'http://127.0.0.1:8080';

// `npm run build:web` writes what apps/api serves; `npm run dev:web` serves the sources and asks a running api.
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  resolve: { conditions: ['source', 'module', 'browser', 'default'] },
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: 'dist/page',
    emptyOutDir: true,
    target: 'es2023',
    // Browsers that know light-dark(): without it the themes would be rewritten into something that scripts cannot switch.
    cssTarget: ['chrome123', 'firefox120', 'safari17.5'],
    reportCompressedSize: false,
    assetsInlineLimit: 0,
  },
  worker: { format: 'es' },
  server: { port: 5173, proxy: { '/v1': api, '/openapi.json': api, '/docs': api } },
});
