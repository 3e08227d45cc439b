/** Pieces that several route files share. */
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { slugSchema, storableText } from '../../../shared/measure.ts';
import { problemSchema } from '../../../shared/problems.ts';
import type { Database } from '../../store/database.ts';

export type Routes = FastifyPluginAsyncZod<{ db: Database }>;

/** Any refusal, for the description of every route. */
export const refusals = { '4xx': problemSchema, '5xx': problemSchema } as const;

export const labParameter = z.strictObject({ lab: slugSchema });
export const uuidSchema = z.uuid();

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
