/** Curated stroke styles and grips, and what the codes of each lab mean. */
import { z } from 'zod';
import { vocabularyKindSchema, vocabularyMappingSchema, vocabularyTermSchema } from '../../../shared/vocabulary.ts';
import { addTerm, listMappings, listTerms, mapCode } from '../../access/vocabularies.ts';
import { labParameter, type Routes, refusals } from './common.ts';

const tags = ['dictionary'];
const mappings = z.strictObject({ mappings: z.array(vocabularyMappingSchema) });

export const vocabularyRoutes: Routes = async (scope, { db }) => {
  scope.get(
    '/vocabularies',
    {
      config: { open: true },
      schema: {
        summary: 'Curated terms of stroke styles and grips',
        tags,
        response: { 200: z.strictObject({ terms: z.array(vocabularyTermSchema) }), ...refusals },
      },
    },
    async () => ({ terms: await listTerms(db) }),
  );
  scope.post(
    '/vocabularies',
    {
      schema: {
        summary: 'Add a term (curator); a term never changes',
        tags,
        body: vocabularyTermSchema,
        response: { 201: vocabularyTermSchema, ...refusals },
      },
    },
    async (request, reply) => reply.code(201).send(await addTerm(db, request.principal, request.body)),
  );
  scope.get(
    '/labs/:lab/vocabularies',
    {
      schema: {
        summary: "Which curated term each of the lab's codes means",
        tags,
        params: labParameter,
        response: { 200: mappings, ...refusals },
      },
    },
    async (request) => ({ mappings: await listMappings(db, request.principal, request.params.lab) }),
  );
  scope.post(
    '/labs/:lab/vocabularies',
    {
      schema: {
        summary: 'Say which term a code of the lab means, or none (lead of the lab)',
        description: 'Only mapped codes enter contrasts across labs: the grouping then has the term, without the lab.',
        tags,
        params: labParameter,
        body: z.strictObject({
          kind: vocabularyKindSchema,
          code: vocabularyMappingSchema.shape.code,
          term: vocabularyMappingSchema.shape.term.nullable(),
        }),
        response: { 200: mappings, ...refusals },
      },
    },
    async (request) => {
      await mapCode(db, request.principal, request.params.lab, request.body);
      return { mappings: await listMappings(db, request.principal, request.params.lab) };
    },
  );
};
