/** Labs and the tokens of a lab. */
import { z } from 'zod';
import { labInputSchema } from '../../../shared/gear.ts';
import { createLab, getLab, listLabs } from '../../access/labs.ts';
import { labParameter, type Routes, refusals } from './common.ts';

const labSchema = labInputSchema.extend({ createdAt: z.iso.datetime() }).meta({ id: 'Lab' });

export const labRoutes: Routes = async (scope, { db }) => {
  scope.post(
    '/labs',
    {
      schema: {
        summary: 'Register a lab (curator)',
        tags: ['labs'],
        body: labInputSchema,
        response: { 201: labSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const lab = await createLab(db, request.principal, request.body);
      return reply.code(201).header('location', `/v1/labs/${lab.slug}`).send(lab);
    },
  );
  scope.get(
    '/labs',
    {
      schema: {
        summary: 'All labs',
        tags: ['labs'],
        response: { 200: z.strictObject({ labs: z.array(labSchema) }), ...refusals },
      },
    },
    async (request) => ({ labs: await listLabs(db, request.principal) }),
  );
  scope.get(
    '/labs/:lab',
    { schema: { summary: 'One lab', tags: ['labs'], params: labParameter, response: { 200: labSchema, ...refusals } } },
    async (request) => getLab(db, request.principal, request.params.lab),
  );
};
