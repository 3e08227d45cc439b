/** The GraphQL interface at /graphql: the same use cases as REST, one request for a whole dashboard. */
import type { FastifyInstance } from 'fastify';
import mercurius from 'mercurius';
import type { Database } from '../store/database.ts';
import { formatError } from './format-errors.ts';
import { checkCost, mostLevels, mostTokens } from './limits.ts';
import { gearResolvers, loaders } from './resolvers/loaders.ts';
import { queryResolvers } from './resolvers/query.ts';
import { schemaText } from './schema-text.ts';
import { refuseRequest, serveGraphql } from './serve-graphql.ts';

export interface GraphqlOptions {
  readonly db: Database;
  /** Sets the principal of every request of the scope, or refuses. */
  readonly authenticate: (scope: FastifyInstance) => void;
}

/** Registers /graphql. */
export async function graphqlPlugin(scope: FastifyInstance, { db, authenticate }: GraphqlOptions): Promise<void> {
  authenticate(scope);
  await scope.register(mercurius, {
    schema: schemaText(),
    resolvers: { Query: queryResolvers, Gear: gearResolvers },
    loaders: loaders as never,
    graphiql: false,
    allowBatchedQueries: false,
    queryDepth: mostLevels,
    graphql: { parseOptions: { maxTokens: mostTokens } },
    errorFormatter: (execution, { reply }) => ({
      statusCode: 200,
      response: {
        data: execution.data ?? null,
        errors: execution.errors.map((error) => formatError(error, reply.request.id, reply.log) as never),
      },
    }),
    errorHandler: (error, request, reply) => void refuseRequest(error, request, reply),
    // The parts of a request are read by the handler, which refuses what is of another type instead of converting it.
    additionalRouteOptions: {
      config: { writes: false },
      preHandler: serveGraphql(db),
      validatorCompiler: () => () => true,
    },
  });
  scope.graphql.addHook('preExecution', async (schema, document, context, variables) => {
    checkCost(schema, document, variables ?? {}, context.operationName);
  });
}
