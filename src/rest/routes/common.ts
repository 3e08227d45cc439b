/** Pieces that several route files share. */
import type { ServerResponse } from 'node:http';
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { slugSchema, storableText } from '../../../shared/measure.ts';
import { problemSchema } from '../../../shared/problems.ts';
import type { Principal } from '../../access/principal.ts';
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

/** Whether the caller asks for a table rather than JSON; JSON where both are as welcome. */
export function wantsCsv(accept: string | undefined): boolean {
  const quality = (type: string) => {
    for (const part of (accept ?? '').split(',')) {
      const [name, ...parameters] = part.split(';').map((piece) => piece.trim().toLowerCase());
      if (name !== type) continue;
      const given = parameters.find((parameter) => parameter.startsWith('q='));
      return given === undefined ? 1 : Number(given.slice(2));
    }
    return 0;
  };
  return quality('text/csv') > Math.max(quality('application/json'), 0);
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
