/** Access tokens: made once, shown once, stored only as a hash. */
import { z } from 'zod';
import { storableText } from '../../../shared/measure.ts';
import { createToken, revokeToken } from '../../access/tokens.ts';
import { labParameter, type Routes, refusals, uuidSchema } from './common.ts';

const note = storableText(1, 200).meta({ description: 'What the token is for; a code for a person, never a name.' });
const expiresAt = z.iso.datetime({ offset: true }).optional();
const madeTokenSchema = z
  .strictObject({
    id: uuidSchema,
    role: z.enum(['curator', 'lead', 'contributor', 'reader']),
    token: z.string().meta({ description: 'Shown this once; keep it safe.' }),
  })
  .meta({ id: 'MadeToken' });

export const tokenRoutes: Routes = async (scope, { db }) => {
  scope.post(
    '/tokens',
    {
      schema: {
        summary: 'Make a curator or reader token (curator)',
        tags: ['access'],
        body: z.strictObject({ role: z.enum(['curator', 'reader']), note, expiresAt }),
        response: { 201: madeTokenSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const { role, note: purpose, expiresAt: end } = request.body;
      const made = await createToken(db, request.principal, { role, lab: null, note: purpose, expiresAt: end ?? null });
      return reply.code(201).send(made);
    },
  );
  scope.post(
    '/labs/:lab/tokens',
    {
      schema: {
        summary: 'Make a token of a lab (curator, or lead of the lab)',
        tags: ['access'],
        params: labParameter,
        body: z.strictObject({ role: z.enum(['lead', 'contributor']), note, expiresAt }),
        response: { 201: madeTokenSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const { role, note: purpose, expiresAt: end } = request.body;
      const made = await createToken(db, request.principal, {
        role,
        lab: request.params.lab,
        note: purpose,
        expiresAt: end ?? null,
      });
      return reply.code(201).send(made);
    },
  );
  scope.delete(
    '/tokens/:token',
    {
      schema: {
        summary: 'Revoke a token by its id (curator, or lead of its lab)',
        tags: ['access'],
        params: z.strictObject({ token: uuidSchema }),
        response: { 204: z.null(), ...refusals },
      },
    },
    async (request, reply) => {
      await revokeToken(db, request.principal, request.params.token);
      return reply.code(204).send(null);
    },
  );
};
