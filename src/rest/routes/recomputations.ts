/** Changing the method version: recompute all shots side by side, look at what changes, activate. */
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { recomputationSchema } from '../../../shared/recomputation.ts';
import type { Methods } from '../../derivation/methods.ts';
import { activateMethod } from '../../intake/recomputation/activate-method.ts';
import type { RecomputationRunner } from '../../intake/recomputation/recomputation-runner.ts';
import { getRecomputation, listRecomputations, startRecomputation } from '../../intake/recomputation/recomputations.ts';
import type { Database } from '../../store/database.ts';
import { refusals, uuidSchema } from './common.ts';

interface RecomputationRouteOptions {
  readonly db: Database;
  readonly methods: Methods;
  readonly runner: RecomputationRunner;
}

const tags = ['methods'];
const parameters = z.strictObject({ recomputation: uuidSchema });

export const recomputationRoutes: FastifyPluginAsyncZod<RecomputationRouteOptions> = async (scope, options) => {
  const { db, methods, runner } = options;
  scope.post(
    '/recomputations',
    {
      schema: {
        summary: 'Derive all current shots under the newest method version, or go on with it (curator)',
        tags,
        response: { 202: recomputationSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const started = await startRecomputation(db, request.principal, methods);
      runner.wake();
      return reply.code(202).header('location', `/v1/recomputations/${started.id}`).send(started);
    },
  );
  scope.get(
    '/recomputations',
    {
      schema: {
        summary: 'All recomputations, newest first (curator)',
        tags,
        response: { 200: z.strictObject({ recomputations: z.array(recomputationSchema) }), ...refusals },
      },
    },
    async (request) => ({ recomputations: await listRecomputations(db, request.principal) }),
  );
  scope.get(
    '/recomputations/:recomputation',
    {
      schema: {
        summary: 'How far a recomputation is, and what it changes (curator)',
        tags,
        params: parameters,
        response: { 200: recomputationSchema, ...refusals },
      },
    },
    async (request) => getRecomputation(db, request.principal, request.params.recomputation),
  );
  scope.post(
    '/recomputations/:recomputation/activation',
    {
      schema: {
        summary: 'Answer with the new method version from now on (curator); releases keep theirs',
        tags,
        params: parameters,
        response: { 200: recomputationSchema, ...refusals },
      },
    },
    async (request) => activateMethod(db, request.principal, request.params.recomputation),
  );
};
