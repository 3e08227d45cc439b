/** Tables to fill in and what their columns mean; says nothing about data. */
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { describeTemplate, templateNames, templateText } from '../../intake/templates.ts';
import { refusals } from './common.ts';

const tags = ['submissions'];
const columnSchema = z
  .strictObject({
    header: z.string().meta({ description: 'As in the template; the unit in brackets may be any of its dimension.' }),
    meaning: z.string(),
    kind: z.string(),
    unit: z.string(),
    quantity: z.string().nullable().meta({ description: 'Entry of /v1/quantities, which gives the limits.' }),
    required: z.boolean(),
    example: z.string(),
  })
  .meta({ id: 'TemplateColumn' });

export const templateRoutes: FastifyPluginAsyncZod = async (scope) => {
  const open = { config: { open: true } };
  scope.get(
    '/templates',
    {
      ...open,
      schema: {
        summary: 'Every column of the tables that can be uploaded, explained',
        tags,
        response: {
          200: z.strictObject({
            templates: z.array(
              z.strictObject({ name: z.string(), address: z.string(), columns: z.array(columnSchema) }),
            ),
          }),
          ...refusals,
        },
      },
    },
    () => ({
      templates: templateNames.map((name) => ({
        name,
        address: `/v1/templates/${name}.csv`,
        columns: describeTemplate(name),
      })),
    }),
  );
  for (const name of templateNames) {
    const summary = `A table of ${name} to fill in (text/csv): every column, and an example`;
    scope.get(`/templates/${name}.csv`, { ...open, schema: { summary, tags } }, async (_request, reply) =>
      reply
        .type('text/csv; charset=utf-8; header=present')
        .header('content-disposition', `attachment; filename="${name}.csv"`)
        .send(templateText(name)),
    );
  }
};
