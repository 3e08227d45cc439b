/** Answers GraphQL over HTTP as the open specification of that name asks. */
import type { FastifyReply, FastifyRequest } from 'fastify';
import { GraphQLError } from 'graphql';
import { requestProblems } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import { sha256Hex } from '../pooling/canonical.ts';
import type { Database } from '../store/database.ts';
import type { RequestContext } from './context.ts';
import { formatError } from './format-errors.ts';
import { PersistedQueries } from './persisted-queries.ts';
import { type AnswerType, answerTypeOf, readGraphqlRequest } from './read-request.ts';

/** Errors of a request that did not run, whatever library they come from. */
function errorsOf(error: unknown): readonly GraphQLError[] {
  if (error instanceof GraphQLError) return [error];
  const inner: unknown = error instanceof Error && 'errors' in error ? error.errors : undefined;
  if (Array.isArray(inner)) {
    return inner.map((each: unknown) =>
      each instanceof GraphQLError ? each : new GraphQLError(each instanceof Error ? each.message : String(each)),
    );
  }
  return [
    new GraphQLError(error instanceof Error ? error.message : String(error), {
      originalError: error instanceof Error ? error : new Error(String(error)),
    }),
  ];
}

function isFastifyError(error: unknown): boolean {
  return (
    error instanceof Error && 'code' in error && typeof error.code === 'string' && error.code.startsWith('FST_ERR_')
  );
}

/** What did not run has no data; a plain JSON answer to a well-formed request is 200 all the same. */
function statusOf(error: unknown, type: AnswerType): number {
  const { statusCode } = error as { statusCode?: unknown };
  // Fastify's own refusals of what is no JSON, too large, or of another type.
  if (!(error instanceof Refusal) && isFastifyError(error) && typeof statusCode === 'number') return statusCode;
  if (error instanceof Refusal)
    return requestProblems[error.code].status === 422 ? 400 : requestProblems[error.code].status;
  if (
    errorsOf(error).some(({ originalError }) => originalError !== undefined && !(originalError instanceof GraphQLError))
  ) {
    return 500;
  }
  return type === 'application/json' ? 200 : 400;
}

/** The handler of GET and POST; connections that become a web socket are left to the subscriptions. */
export function serveGraphql(db: Database) {
  const persisted = new PersistedQueries();
  return async (request: FastifyRequest, reply: FastifyReply): Promise<FastifyReply | undefined> => {
    if ('ws' in request && request.ws === true) return undefined;
    const type = answerTypeOf(request.headers.accept);
    void reply.header('vary', 'accept, authorization');
    try {
      const { query, variables, operationName } = readGraphqlRequest(request, persisted);
      const context: RequestContext = {
        db,
        principal: request.principal,
        operationName,
      };
      const execution = await reply.graphql(query, { ...context }, { ...variables }, operationName);
      const text = JSON.stringify(execution);
      return sendAnswer(request, reply, type, text);
    } catch (error) {
      return refuseRequest(error, request, reply);
    }
  };
}

/** What could not run, in the form of an answer without data. */
export function refuseRequest(error: unknown, request: FastifyRequest, reply: FastifyReply): FastifyReply {
  const type = answerTypeOf(request.headers.accept);
  const errors = errorsOf(error).map((one) => formatError(one, request.id, request.log));
  const status = statusOf(error, type);
  if (status === 401) void reply.header('www-authenticate', 'Bearer');
  return reply.code(status).type(`${type}; charset=utf-8`).send(JSON.stringify({ errors }));
}

function sendAnswer(request: FastifyRequest, reply: FastifyReply, type: AnswerType, text: string): FastifyReply {
  const etag = `"${sha256Hex(text).slice(0, 43)}"`;
  void reply.type(`${type}; charset=utf-8`);
  if (request.method !== 'GET') return reply.send(text);
  void reply.header('etag', etag).header('cache-control', 'private, no-cache');
  const known = (request.headers['if-none-match'] ?? '').split(',').map((one) => one.trim().replace(/^W\//, ''));
  return known.includes(etag) ? reply.code(304).send() : reply.send(text);
}
