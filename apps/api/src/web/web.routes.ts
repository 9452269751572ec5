import { fileURLToPath } from 'node:url';
import { TallybayError } from '@tallybay/contracts';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { sendProblem } from '../http/problem.filter.js';
import { codingFor, type PageFile, PageFiles } from './page-files.js';

/** Where `npm run build:web` puts the page; the same from `src` and from `dist`. */
export const PAGE_DIRECTORY = fileURLToPath(new URL('../../../web/dist/page', import.meta.url));

/** Names of assets carry a hash of their content, so they never change; the page itself is asked for each time. */
const FOREVER = 'public, max-age=31536000, immutable';
const ASK_EACH_TIME = 'no-cache';

/** The page loads nothing from elsewhere and runs nothing inline. Plots set styles on their elements. */
const HEADERS = {
  'content-security-policy':
    "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; frame-ancestors 'none'",
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'same-origin',
};

/** First segments that are never pages: an unknown address below them is an error for a program, not a page. */
const NOT_PAGES = /^\/(v1|health|metrics|assets|docs|openapi\.json)(\/|$)/;

/** Serves the page at `/` and at every address that only the page knows, so that its links can be sent and reloaded. */
export function registerWebPage(fastify: FastifyInstance, directory = PAGE_DIRECTORY): void {
  const files = new PageFiles(directory);
  const sendPage = async (request: FastifyRequest, reply: FastifyReply) => {
    const index = await files.find('index.html');
    return index ? sendFile(index, ASK_EACH_TIME, request, reply) : sendProblem(notBuilt(), request, reply);
  };
  fastify.get('/', sendPage);
  fastify.get('/mark.svg', async (request, reply) => {
    const mark = await files.find('mark.svg');
    return mark ? sendFile(mark, ASK_EACH_TIME, request, reply) : sendProblem(notBuilt(), request, reply);
  });
  fastify.get<{ Params: { name: string } }>('/assets/:name', async (request, reply) => {
    const asset = await files.find('assets', request.params.name);
    return asset ? sendFile(asset, FOREVER, request, reply) : sendProblem(noAsset(request.url), request, reply);
  });
  fastify.addHook('onRequest', async (request, reply) => {
    if (isPageAddress(request)) return sendPage(request, reply);
  });
}

/** A person's browser asks for a page at an address that the api itself does not know. */
function isPageAddress(request: FastifyRequest): boolean {
  if (!request.is404 || (request.method !== 'GET' && request.method !== 'HEAD')) return false;
  const path = request.url.split('?')[0] ?? '/';
  return !NOT_PAGES.test(path) && (request.headers.accept ?? '').includes('text/html');
}

function sendFile(file: PageFile, caching: string, request: FastifyRequest, reply: FastifyReply): FastifyReply {
  reply.headers({ ...HEADERS, 'cache-control': caching, etag: file.etag, vary: 'accept-encoding' });
  if (request.headers['if-none-match'] === file.etag) return reply.status(304).send();
  const coding = codingFor(request.headers['accept-encoding']);
  if (coding !== 'identity') reply.header('content-encoding', coding);
  return reply.type(file.type).send(file.bodies[coding]);
}

const notBuilt = () =>
  new TallybayError('route_unknown', 'The page has not been built on this server', {
    advice: 'Run `npm run build:web`; the REST interface works without it and is described at /openapi.json',
  });

const noAsset = (url: string) =>
  new TallybayError('route_unknown', `There is no file ${url}`, {
    advice: 'The page was updated meanwhile: load it again',
  });
