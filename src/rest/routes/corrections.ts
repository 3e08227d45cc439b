/** Corrections: one shot amended, or many shots that adopt another version of their rig, cue or table. */
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { adoptionInputSchema, amendmentInputSchema, correctionSchema } from '../../../shared/correction.ts';
import { gearKinds } from '../../../shared/gear.ts';
import { slugSchema } from '../../../shared/measure.ts';
import { submissionQuerySchema } from '../../../shared/submission.ts';
import { adoptGear } from '../../intake/correct/adopt-gear.ts';
import { amendShot } from '../../intake/correct/amend-shot.ts';
import { answerOf } from '../../intake/submit.ts';
import type { Database } from '../../store/database.ts';
import { labParameter, refusals, uuidSchema } from './common.ts';

const { dryRun, accept } = submissionQuerySchema.shape;

export const correctionRoutes: FastifyPluginAsyncZod<{ db: Database; spoolDirectory: string }> = async (
  scope,
  { db, spoolDirectory },
) => {
  scope.post(
    '/shots/:shot/revisions',
    {
      schema: {
        summary:
          'Amend some fields of a shot with a reason (contributor or lead of its lab); dryRun=true shows the effect',
        tags: ['shots'],
        params: z.strictObject({ shot: uuidSchema }),
        querystring: z.strictObject({ dryRun }),
        body: amendmentInputSchema,
        response: { 200: correctionSchema, 201: correctionSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const { principal, params, body, query } = request;
      const correction = await amendShot(db, principal, params.shot, body, query, spoolDirectory);
      return reply.code(answerOf(correction.receipt, { accept: 'all' }).status).send(correction);
    },
  );
  for (const kind of gearKinds) {
    const gear = kind.slice(0, -1);
    scope.post(
      `/labs/:lab/${kind}/:name/adoptions`,
      {
        schema: {
          summary: `Let shots adopt another version of a ${gear} (contributor or lead of the lab); dryRun=true shows the effect`,
          description:
            'One new revision per shot, in one transaction. accept=valid leaves out shots that the checks refuse.',
          tags: ['gear'],
          params: labParameter.extend({ name: slugSchema }),
          querystring: z.strictObject({ dryRun, accept }),
          body: adoptionInputSchema,
          response: { 200: correctionSchema, 201: correctionSchema, ...refusals },
        },
      },
      async (request, reply) => {
        const { principal, params, body, query } = request;
        const correction = await adoptGear(db, principal, { ...params, kind }, body, query, spoolDirectory);
        return reply.code(answerOf(correction.receipt, query).status).send(correction);
      },
    );
  }
};
