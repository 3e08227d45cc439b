/** Questions to the pool. An analysis id never changes its numbers; asking again with newer data gives a new id. */
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { FastifyPluginAsyncZod } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { scopeSchema, variableSchema } from '../../../shared/analysis.ts';
import { comparisonResultSchema } from '../../../shared/comparison.ts';
import { fault, pointerOf } from '../../../shared/fault.ts';
import { storableText } from '../../../shared/measure.ts';
import { variableNames } from '../../../shared/quantities.ts';
import { Refusal } from '../../../shared/refusal.ts';
import {
  type RegressionSpecification,
  regressionResultSchema,
  regressionSpecificationSchema,
} from '../../../shared/regression.ts';
import {
  clusterBySchema,
  labsSchema,
  measurementErrorSchema,
  standardErrorsSchema,
} from '../../../shared/regression-specification.ts';
import { askRegression, type RegressionAnswer } from '../../pooling/ask-regression.ts';
import { regressionTable } from '../../pooling/regression-table.ts';
import { getAnswerText, requireAnalysis } from '../../pooling/stored-analysis.ts';
import type { Database } from '../../store/database.ts';
import { type AnswerForm, type KeptAnswers, sendAnswer } from '../kept-answers.ts';
import {
  analysisIdSchema,
  cacheControl,
  comparisonLinksSchema,
  refusals,
  sendAnswerText,
  signalOf,
  wantsCsv,
} from './common.ts';

const idSchema = analysisIdSchema;
const regressionAnswer = z
  .strictObject({ id: idSchema, result: regressionResultSchema })
  .meta({ id: 'RegressionAnswer' });
const anyAnswer = z.strictObject({
  id: idSchema,
  links: comparisonLinksSchema.optional(),
  result: z.discriminatedUnion('kind', [regressionResultSchema, comparisonResultSchema]),
});

const formWanted = ({ headers }: FastifyRequest): AnswerForm => (wantsCsv(headers.accept) ? 'csv' : 'json');

/** A regression as JSON, or as a table to a caller who prefers text/csv. */
function sendRegression(request: FastifyRequest, reply: FastifyReply, answers: KeptAnswers, answer: RegressionAnswer) {
  const { id, scope, result } = answer;
  const form = formWanted(request);
  const kept =
    answers.answer(id, form) ??
    answers.keep(id, form, form === 'csv' ? regressionTable(result) : JSON.stringify({ id, result }));
  return sendAnswer(request, reply, scope, form, kept);
}

const linkQuery = z.strictObject({
  response: variableSchema,
  terms: z.string().min(1).max(500).meta({
    description:
      'Terms separated by commas; * between factors, ^ before a power: cueSpeed,cueSpeed^2,cueSpeed*tipOffset.',
  }),
  labs: labsSchema,
  standardErrors: standardErrorsSchema,
  clusterBy: clusterBySchema,
  measurementError: measurementErrorSchema,
  confidence: z.coerce.number().min(0.5).max(0.999).default(0.95),
  release: storableText(1, 90)
    .optional()
    .meta({ description: 'dataset@number or digest; else the live shared shots.' }),
  scope: scopeSchema.default('shared'),
});

/** The terms of a link as they stand in a specification. */
function parseTerms(text: string): { variable: string; power: number }[][] {
  return text.split(',').map((term) =>
    term.split('*').map((factor) => {
      const match = /^([A-Za-z]+)(?:\^([1-5]))?$/.exec(factor.trim());
      if (match === null || !(variableNames as readonly string[]).includes(match[1] ?? '')) {
        throw new Refusal(
          'request-invalid',
          `'${factor.trim().slice(0, 60)}' is not a variable with an optional power of 1 to 5.`,
        );
      }
      return { variable: match[1] ?? '', power: Number(match[2] ?? 1) };
    }),
  );
}

/** A link is short of what a body may say, but not of what a body may not. */
function specificationOfLink(asked: object): RegressionSpecification {
  const parsed = regressionSpecificationSchema.safeParse(asked);
  if (parsed.success) return parsed.data;
  const faults = parsed.error.issues.map(({ path, message }) =>
    fault('structure-invalid', pointerOf(path), 'a value that the schema refuses', message),
  );
  throw new Refusal('request-invalid', 'The link asks for what a specification does not allow.', { faults });
}

export const analysisRoutes: FastifyPluginAsyncZod<{ db: Database; answers: KeptAnswers }> = async (
  scope,
  { db, answers },
) => {
  const tags = ['analyses'];
  scope.post(
    '/analyses/regression',
    {
      config: { writes: false },
      schema: {
        summary: 'Pooled regression (JSON, or CSV with Accept: text/csv)',
        tags,
        body: regressionSpecificationSchema,
        response: { 200: regressionAnswer, ...refusals },
      },
    },
    async (request, reply) => {
      const answer = await askRegression(db, request.principal, request.body, signalOf(reply));
      const named = reply.header('location', `/v1/analyses/${answer.id}`) as unknown as FastifyReply;
      return sendRegression(request, named, answers, answer);
    },
  );
  scope.get(
    '/regression',
    {
      schema: {
        summary: 'Pooled regression as a link',
        tags,
        querystring: linkQuery,
        response: { 200: regressionAnswer, ...refusals },
      },
      // Before the address is taken apart: who asks the same again gets the same bytes.
      preValidation: async (request, reply) => {
        const again = answers.sendAgain(request, reply as unknown as FastifyReply, formWanted(request));
        return again ? reply : undefined;
      },
    },
    async (request, reply) => {
      const { terms, release, scope: asked, ...choices } = request.query;
      const specification = specificationOfLink({
        ...choices,
        terms: parseTerms(terms),
        source: release === undefined ? 'live' : { release },
        scope: asked,
      });
      const answer = await askRegression(db, request.principal, specification, signalOf(reply));
      const { specificationDigest, dataVersion } = answer.result.provenance;
      answers.keepQuestion(request.url, {
        scope: answer.scope,
        specificationDigest,
        release: release === undefined ? null : dataVersion,
      });
      const named = reply.header('content-location', `/v1/analyses/${answer.id}`) as unknown as FastifyReply;
      return sendRegression(request, named, answers, answer);
    },
  );
  scope.get(
    '/analyses/:id',
    {
      schema: {
        summary: 'An answer given before: the same numbers for ever',
        tags,
        params: z.strictObject({ id: idSchema }),
        response: { 200: anyAnswer, ...refusals },
      },
    },
    async (request, reply) => {
      const answer = await getAnswerText(db, request.principal, request.params.id);
      const { id, kind, scope: asked } = answer;
      // As stored: an answer given under an older schema stays readable, and a long one is not read again to be sent.
      const kept = reply.header('cache-control', cacheControl(asked, request.principal)) as unknown as FastifyReply;
      if (kind === 'regression' && wantsCsv(request.headers.accept)) {
        const { result } = await requireAnalysis(db, id);
        if (result.kind === 'regression') {
          return sendRegression(request, kept, answers, { id, scope: asked, result });
        }
      }
      return sendAnswerText(kept.header('vary', 'accept'), answer);
    },
  );
};
