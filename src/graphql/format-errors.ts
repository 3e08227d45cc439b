/** Errors of GraphQL answers: the problem codes of REST in `extensions`; inner text of a failure never leaves the server. */
import type { FastifyBaseLogger } from 'fastify';
import { GraphQLError, type GraphQLFormattedError } from 'graphql';
import { clientErrors } from '../../shared/client-errors.ts';
import { detailOf, problemOf } from '../../shared/problem.ts';
import type { Problem } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import { isDatabaseAway, loggable } from '../store/failure.ts';

/** The problem that an error thrown by a resolver or a hook is. */
export function problemOfError(error: unknown, requestId: string, log: FastifyBaseLogger): Problem {
  if (error instanceof Refusal) return problemOf(error.code, detailOf(error), requestId, error.faults);
  const known = error instanceof Error && 'code' in error ? clientErrors[String(error.code)] : undefined;
  if (known !== undefined) return problemOf(known, (error as Error).message, requestId, []);
  const failure = error instanceof Error ? loggable(error) : new Error(String(error));
  if (isDatabaseAway(error)) {
    log.error({ err: failure }, 'database away');
    return problemOf('not-ready', 'The database does not answer.', requestId, []);
  }
  log.error({ err: failure }, 'a GraphQL request failed');
  return problemOf('internal', 'An unexpected failure was logged under the request id.', requestId, []);
}

/** What a caller is told of an error: where it arose, and its problem. Errors of the query itself keep their words. */
export function formatError(error: GraphQLError, requestId: string, log: FastifyBaseLogger): GraphQLFormattedError {
  const { originalError } = error;
  // graphql-js wraps what resolvers throw; its own errors about the query have no original, or another of its own.
  if (originalError === undefined || originalError === null || originalError instanceof GraphQLError) {
    const { message, locations, path, extensions } = error.toJSON();
    return {
      message,
      ...(locations === undefined ? {} : { locations }),
      ...(path === undefined ? {} : { path }),
      extensions: { code: 'request-invalid', ...extensions },
    };
  }
  const problem = problemOfError(originalError, requestId, log);
  const { locations, path } = error.toJSON();
  return {
    message: `${problem.title}: ${problem.detail}`,
    ...(locations === undefined ? {} : { locations }),
    ...(path === undefined ? {} : { path }),
    extensions: { ...problem },
  };
}
