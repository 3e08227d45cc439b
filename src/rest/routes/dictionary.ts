/** The data dictionary, the flags and the problem codes, for people and programs; says nothing about data. */
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { flagNames, flags } from '../../../shared/flags.ts';
import { type ProblemCode, problems } from '../../../shared/problems.ts';
import { quantities } from '../../../shared/quantities.ts';
import { methodsText } from '../../releases/methods-text.ts';
import { refusals } from './common.ts';

const limits = z.strictObject({ min: z.number(), max: z.number() });
const quantitySchema = z
  .strictObject({
    name: z.string(),
    label: z.string(),
    description: z.string(),
    symbol: z.string(),
    dimension: z.string(),
    siUnit: z.string(),
    display: z.strictObject({ unit: z.string(), factor: z.number() }),
    hard: limits,
    usual: limits,
    variable: z.boolean(),
  })
  .meta({ id: 'Quantity' });
const problemEntrySchema = z.strictObject({ code: z.string(), status: z.int(), title: z.string(), remedy: z.string() });

const problemList = (Object.keys(problems) as ProblemCode[]).map((code) => ({ code, ...problems[code] }));

export const dictionaryRoutes: FastifyPluginAsyncZod = async (scope) => {
  const open = { config: { open: true } };
  scope.get(
    '/quantities',
    {
      ...open,
      schema: {
        summary: 'Every quantity with unit, sign and limits',
        tags: ['dictionary'],
        response: { 200: z.strictObject({ quantities: z.array(quantitySchema) }), ...refusals },
      },
    },
    async () => ({ quantities: Object.values(quantities) }),
  );
  scope.get(
    '/flags',
    {
      ...open,
      schema: {
        summary: 'Every remark the service may make about a shot',
        tags: ['dictionary'],
        response: {
          200: z.strictObject({
            flags: z.array(z.strictObject({ name: z.string(), meaning: z.string(), leftOut: z.boolean() })),
          }),
          ...refusals,
        },
      },
    },
    async () => ({ flags: flagNames.map((name) => ({ name, ...flags[name] })) }),
  );
  scope.get(
    '/problems',
    {
      ...open,
      schema: {
        summary: 'Every problem code with its remedy',
        tags: ['dictionary'],
        response: { 200: z.strictObject({ problems: z.array(problemEntrySchema) }), ...refusals },
      },
    },
    async () => ({ problems: problemList }),
  );
  scope.get(
    '/methods',
    { ...open, schema: { summary: 'How every number is computed, with sources', tags: ['dictionary'] } },
    async (_request, reply) => reply.type('text/markdown; charset=utf-8').send(methodsText()),
  );
};
