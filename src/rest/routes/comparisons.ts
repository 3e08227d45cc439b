/** Matched comparisons: answered at once when quick, else by a job that can be looked at and cancelled. */
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { comparisonResultSchema, comparisonSpecificationSchema } from '../../../shared/comparison.ts';
import { analysisJobSchema } from '../../../shared/job.ts';
import { pairLinksSchema } from '../../../shared/pair-links.ts';
import type { ComparisonJobs } from '../../comparison/jobs/comparison-jobs.ts';
import { linkPairs } from '../../comparison/link-pairs.ts';
import type { Database } from '../../store/database.ts';
import {
  analysisIdSchema,
  comparisonLinksSchema,
  nextLink,
  pageQuery,
  refusals,
  sendAnswerText,
  uuidSchema,
} from './common.ts';

const comparisonAnswer = z
  .strictObject({ id: analysisIdSchema, links: comparisonLinksSchema, result: comparisonResultSchema })
  .meta({ id: 'ComparisonAnswer' });
const parameters = z.strictObject({ job: uuidSchema });

/** How long a caller who says nothing waits for the answer, and how long one may ask to wait, s. */
const usualPatience = 2;
const longestPatience = 30;

const preferHeader = z.object({
  prefer: z
    .string()
    .max(200)
    .optional()
    .meta({
      description: `RFC 7240. respond-async: a job at once, unless the answer is there. wait=N: a job after N seconds (at most ${longestPatience}; ${usualPatience} when not given).`,
    }),
});

/** Milliseconds to wait, or null for a job at once. */
function patienceOf(prefer: string | undefined): number | null {
  const wished = (prefer ?? '').split(/[,;]/).map((part) => part.trim().toLowerCase());
  const wait = wished.map((part) => /^wait=(\d{1,6})$/.exec(part)?.[1]).find((seconds) => seconds !== undefined);
  if (wait !== undefined) return 1000 * Math.min(longestPatience, Number(wait));
  return wished.includes('respond-async') ? null : 1000 * usualPatience;
}

export const comparisonRoutes: FastifyPluginAsyncZod<{ db: Database; jobs: ComparisonJobs }> = async (
  scope,
  { db, jobs },
) => {
  scope.post(
    '/analyses/comparison',
    {
      config: { writes: false },
      schema: {
        summary: 'Matched comparison: the answer (200), or a job when it takes long (202, Location: /v1/jobs/{job})',
        tags: ['analyses'],
        headers: preferHeader,
        body: comparisonSpecificationSchema,
        response: { 200: comparisonAnswer, 202: analysisJobSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const replied = await jobs.ask(request.principal, request.body, patienceOf(request.headers.prefer));
      if ('job' in replied) {
        return reply
          .code(202)
          .header('location', `/v1/jobs/${replied.job.id}`)
          .header('retry-after', '1')
          .send(replied.job);
      }
      const { id } = replied.answer;
      return sendAnswerText(reply.header('location', `/v1/analyses/${id}`) as never, replied.answer);
    },
  );
  scope.get(
    '/analyses/:id/pairs',
    {
      schema: {
        summary: 'The pairs behind a verdict, each with the addresses of its shots and the frames counted',
        tags: ['analyses'],
        params: z.strictObject({ id: analysisIdSchema }),
        querystring: z.strictObject(pageQuery),
        response: { 200: pairLinksSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const page = await linkPairs(db, request.principal, request.params.id, request.query);
      if (page.next !== null) void reply.header('link', nextLink(request.url, page.next));
      return reply.header('cache-control', 'private, no-cache').send(page);
    },
  );
  scope.get(
    '/jobs/:job',
    {
      schema: {
        summary: 'How far a long question is, and where its answer is; for the token that asked, on every server',
        tags: ['analyses'],
        params: parameters,
        response: { 200: analysisJobSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const job = await jobs.get(request.principal, request.params.job);
      if (job.finishedAt === null) void reply.header('retry-after', '1');
      return reply.header('cache-control', 'no-store').send(job);
    },
  );
  scope.delete(
    '/jobs/:job',
    {
      config: { writes: false },
      schema: {
        summary: 'Cancel a long question; what has ended stays as it is',
        tags: ['analyses'],
        params: parameters,
        response: { 200: analysisJobSchema, ...refusals },
      },
    },
    async (request) => jobs.cancel(request.principal, request.params.job),
  );
};
