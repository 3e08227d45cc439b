/** Pieces that several route files share. */
import type { ServerResponse } from 'node:http';
import type { FastifyReply } from 'fastify';
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { slugSchema, storableText } from '../../../shared/measure.ts';
import { problemSchema } from '../../../shared/problems.ts';
import type { Principal } from '../../access/principal.ts';
import type { AnswerText } from '../../pooling/stored-analysis.ts';
import type { Database } from '../../store/database.ts';

export type Routes = FastifyPluginAsyncZod<{ db: Database }>;

/** Any refusal, for the description of every route. */
export const refusals = { '4xx': problemSchema, '5xx': problemSchema } as const;

export const labParameter = z.strictObject({ lab: slugSchema });
export const uuidSchema = z.uuid();

export const analysisIdSchema = z.string().regex(/^[0-9a-f]{64}$/);

/** A cache that others share may keep only what needs no token and belongs to no lab alone. */
export function cacheControl(scope: string, { role }: Principal): string {
  return scope === 'shared' && role === 'anonymous' ? 'public, max-age=0, must-revalidate' : 'private, no-cache';
}

/** A table to a caller who prefers text/csv. */
export function sendCsv(reply: FastifyReply, text: string): FastifyReply {
  return reply
    .header('vary', 'accept')
    .type('text/csv; charset=utf-8; header=present')
    .serializer((table: string) => table)
    .send(text);
}

/** A drawing that may load nothing and run nothing. */
export function sendSvg(reply: FastifyReply, text: string): FastifyReply {
  return reply
    .type('image/svg+xml; charset=utf-8')
    .header('content-security-policy', "default-src 'none'; style-src 'unsafe-inline'")
    .send(text);
}

/** Where a reader goes on from a verdict. */
export const comparisonLinksSchema = z.strictObject({
  pairs: z.string().meta({ description: 'The pairs, each with the addresses of its shots and the frames counted.' }),
});

/** `{id, result}`, for a comparison with its links, and the result as the text that is stored. */
export function sendAnswerText(reply: FastifyReply, { id, kind, text }: AnswerText): FastifyReply {
  const links = kind === 'comparison' ? `"links":{"pairs":"/v1/analyses/${id}/pairs"},` : '';
  return reply.type('application/json; charset=utf-8').send(`{"id":"${id}",${links}"result":${text}}`);
}

/** How welcome a media type is by an Accept header, 0 to 1; the narrowest range that covers it counts. */
function welcome(accept: string, type: string): number {
  const [group = ''] = type.split('/');
  const ranges = accept.split(',').map((part) => {
    const [range = '', ...parameters] = part.split(';').map((piece) => piece.trim().toLowerCase());
    const quality = parameters.find((parameter) => parameter.startsWith('q='));
    return { range, quality: quality === undefined ? 1 : Number(quality.slice(2)) };
  });
  const covering = [type, `${group}/*`, '*/*'].map((range) => ranges.find((one) => one.range === range));
  return covering.find((one) => one !== undefined)?.quality ?? 0;
}

/**
 * The media type that the caller asks for (RFC 9110 12.5.1), of those offered; the first one where others are no more
 * welcome.
 */
export function preferredType<Type extends string>(
  accept: string | undefined,
  offers: readonly [Type, ...Type[]],
): Type {
  return offers.reduce((best, offer) => (welcome(accept ?? '', offer) > welcome(accept ?? '', best) ? offer : best));
}

/** Whether the caller asks for a table rather than JSON; JSON where both are as welcome. */
export function wantsCsv(accept: string | undefined): boolean {
  return preferredType(accept, ['application/json', 'text/csv']) === 'text/csv';
}

/** Paging by cursor: `after` is the `next` of the page before. */
export const pageQuery = {
  after: storableText(0, 200).optional().meta({ description: 'Cursor from the Link header of the page before.' }),
  limit: z.coerce.number().int().min(1).max(1000).default(100),
};

/** RFC 8288 Link header to the next page of the same address. */
export function nextLink(url: string, after: string): string {
  const [path = '', query = ''] = url.split('?');
  const parameters = new URLSearchParams(query);
  parameters.set('after', after);
  return `<${path}?${parameters.toString()}>; rel="next"`;
}

/** Aborted when the caller goes away before the answer was sent. */
export function signalOf({ raw }: { readonly raw: ServerResponse }): AbortSignal {
  const gone = new AbortController();
  raw.once('close', () => {
    if (!raw.writableFinished) gone.abort(new Error('the caller went away'));
  });
  return gone.signal;
}
