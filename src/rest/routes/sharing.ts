/** Sharing shots with everybody, now or from a date, and taking them back. */
import { z } from 'zod';
import { plannedSharingSchema, sharingInputSchema, shotChoiceSchema } from '../../../shared/sharing.ts';
import { cancelPlannedSharing, listPlannedSharing, planSharing } from '../../intake/planned-sharing.ts';
import { shareShots, unshareShots } from '../../intake/sharing.ts';
import { labParameter, type Routes, refusals, uuidSchema } from './common.ts';

const tags = ['shots'];

export const sharingRoutes: Routes = async (scope, { db }) => {
  scope.post(
    '/labs/:lab/sharing',
    {
      schema: {
        summary: 'Share shots with everybody, now or from an instant on (contributor or lead of the lab)',
        tags,
        params: labParameter,
        body: sharingInputSchema,
        response: {
          200: z.strictObject({ shared: z.int(), alreadyShared: z.int() }),
          202: plannedSharingSchema,
          ...refusals,
        },
      },
    },
    async (request, reply) => {
      const { from, ...choice } = request.body;
      const { lab } = request.params;
      if (from === undefined) return shareShots(db, request.principal, lab, choice);
      const plan = await planSharing(db, request.principal, lab, choice, new Date(from));
      return reply.code(202).send(plan);
    },
  );
  scope.get(
    '/labs/:lab/sharing',
    {
      schema: {
        summary: 'Sharing planned from a date on (members of the lab)',
        tags,
        params: labParameter,
        response: { 200: z.strictObject({ planned: z.array(plannedSharingSchema) }), ...refusals },
      },
    },
    async (request) => ({ planned: await listPlannedSharing(db, request.principal, request.params.lab) }),
  );
  scope.delete(
    '/labs/:lab/sharing/:plan',
    {
      schema: {
        summary: 'Call planned sharing off before its date (contributor or lead of the lab)',
        tags,
        params: labParameter.extend({ plan: uuidSchema }),
        response: { 204: z.null(), ...refusals },
      },
    },
    async (request, reply) => {
      const { lab, plan } = request.params;
      await cancelPlannedSharing(db, request.principal, lab, plan);
      return reply.code(204).send(null);
    },
  );
  scope.post(
    '/labs/:lab/unsharing',
    {
      schema: {
        summary:
          'Take shots back from everybody else, as long as no release holds them (contributor or lead of the lab)',
        tags,
        params: labParameter,
        body: shotChoiceSchema,
        response: { 200: z.strictObject({ unshared: z.int(), notShared: z.int() }), ...refusals },
      },
    },
    async (request) => unshareShots(db, request.principal, request.params.lab, request.body),
  );
};
