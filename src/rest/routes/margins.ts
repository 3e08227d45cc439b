/** Equivalence margins: declared with a reason and the server's time, superseded but never edited. */
import { z } from 'zod';
import { marginInputSchema, marginSchema } from '../../../shared/comparison.ts';
import { declareMargin, getMargin, listMargins } from '../../comparison/margins.ts';
import { type Routes, refusals, uuidSchema } from './common.ts';

export const marginRoutes: Routes = async (scope, { db }) => {
  scope.post(
    '/margins',
    {
      schema: {
        summary: 'Declare an equivalence margin (curator, lead or contributor)',
        tags: ['analyses'],
        body: marginInputSchema,
        response: { 201: marginSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const margin = await declareMargin(db, request.principal, request.body);
      return reply.code(201).header('location', `/v1/margins/${margin.id}`).send(margin);
    },
  );
  scope.get(
    '/margins',
    {
      schema: {
        summary: 'All margins, newest first',
        tags: ['analyses'],
        response: { 200: z.strictObject({ margins: z.array(marginSchema) }), ...refusals },
      },
    },
    async (request) => ({ margins: await listMargins(db, request.principal) }),
  );
  scope.get(
    '/margins/:margin',
    {
      schema: {
        summary: 'One margin',
        tags: ['analyses'],
        params: z.strictObject({ margin: uuidSchema }),
        response: { 200: marginSchema, ...refusals },
      },
    },
    async (request) => getMargin(db, request.principal, request.params.margin),
  );
};
