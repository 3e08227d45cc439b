/** From an HTTP request to a GraphQL request (GraphQL over HTTP specification). */
import type { FastifyRequest } from 'fastify';
import { Refusal } from '../../shared/refusal.ts';
import type { PersistedQueries } from './persisted-queries.ts';

export interface GraphqlRequest {
  readonly query: string;
  readonly variables: Readonly<Record<string, unknown>>;
  readonly operationName: string | undefined;
}

export const answerTypes = ['application/graphql-response+json', 'application/json'] as const;
export type AnswerType = (typeof answerTypes)[number];

/** The media type of the answer: the one that the caller likes better, application/json where it does not say. */
export function answerTypeOf(accept: string | undefined): AnswerType {
  const quality = (type: string) => {
    for (const part of (accept ?? '').split(',')) {
      const [name, ...parameters] = part.split(';').map((piece) => piece.trim().toLowerCase());
      if (name !== type) continue;
      const given = parameters.find((parameter) => parameter.startsWith('q='));
      return given === undefined ? 1 : Number(given.slice(2));
    }
    return 0;
  };
  const [modern, plain] = answerTypes;
  const liked = quality(modern);
  return liked > 0 && liked >= quality(plain) ? modern : plain;
}

const invalid = (detail: string) => new Refusal('request-invalid', detail);

function objectOrNothing(value: unknown, name: string): Readonly<Record<string, unknown>> {
  if (value === undefined || value === null) return {};
  if (typeof value === 'object' && !Array.isArray(value)) return value as Readonly<Record<string, unknown>>;
  throw invalid(`${name} must be an object.`);
}

function parsed(text: unknown, name: string): unknown {
  if (typeof text !== 'string' || text === '') return undefined;
  try {
    return JSON.parse(text);
  } catch {
    throw invalid(`${name} is not well-formed JSON.`);
  }
}

/**
 * The request in a query string or a JSON body. A query may be named by its SHA-256 alone, as
 * `extensions.persistedQuery.sha256Hash`, once a server was sent its text together with that hash.
 *
 * @throws Refusal request-invalid, persisted-query-unknown
 */
export function readGraphqlRequest(request: FastifyRequest, persisted: PersistedQueries): GraphqlRequest {
  const sent = objectOrNothing(request.method === 'GET' ? request.query : request.body, 'The request');
  const isGet = request.method === 'GET';
  const variables = isGet ? parsed(sent.variables, 'variables') : sent.variables;
  const extensions = objectOrNothing(isGet ? parsed(sent.extensions, 'extensions') : sent.extensions, 'extensions');
  const { operationName, query } = sent;
  if (operationName !== undefined && operationName !== null && typeof operationName !== 'string') {
    throw invalid('operationName must be a text.');
  }
  if (query !== undefined && query !== null && typeof query !== 'string') throw invalid('query must be a text.');
  const named = objectOrNothing(extensions.persistedQuery, 'extensions.persistedQuery').sha256Hash;
  if (named !== undefined && typeof named !== 'string') throw invalid('sha256Hash must be a text.');
  const text = named === undefined ? query : persisted.resolve(named, query ?? undefined);
  if (typeof text !== 'string' || text === '') throw invalid('There is no query.');
  return {
    query: text,
    variables: objectOrNothing(variables, 'variables'),
    operationName: typeof operationName === 'string' && operationName !== '' ? operationName : undefined,
  };
}
