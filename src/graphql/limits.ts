/** What one GraphQL request may ask for. Refused before anything runs; the refusal says what was asked and what is allowed. */
import type { DocumentNode, GraphQLSchema } from 'graphql';
import { directiveEstimator, getComplexity, simpleEstimator } from 'graphql-query-complexity';
import { Refusal } from '../../shared/refusal.ts';

/** Words and signs of a query text. */
export const mostTokens = 4000;
/** Levels of objects below the operation; introspection by common tools needs 15. */
export const mostLevels = 16;
/** Sum of the costs of all fields; see the directive complexity in the schema. */
export const mostCost = 5000;
/** Fields, fragments and types that are looked at to find the cost. */
const mostNodes = 10_000;

const listOrObject = simpleEstimator({ defaultComplexity: 1 });
const directive = directiveEstimator({ name: 'complexity' });

/** Plain values cost nothing; what is an object or a list costs 1 and what is asked of it. */
const plainValuesAreFree: typeof listOrObject = (field) =>
  field.node.selectionSet === undefined ? 0 : listOrObject(field);

/**
 * The cost of an operation with its variables.
 *
 * @throws Refusal query-too-costly; GraphQLError when it has too many parts to tell
 */
export function checkCost(
  schema: GraphQLSchema,
  query: DocumentNode,
  variables: Readonly<Record<string, unknown>>,
  operationName: string | undefined,
): number {
  const cost = getComplexity({
    schema,
    query,
    variables: { ...variables },
    ...(operationName === undefined ? {} : { operationName }),
    estimators: [directive, plainValuesAreFree],
    maxQueryNodes: mostNodes,
  });
  if (cost > mostCost) {
    throw new Refusal('query-too-costly', `It costs ${cost}; at most ${mostCost} is allowed.`, {
      extra: { cost, limit: mostCost },
    });
  }
  return cost;
}
