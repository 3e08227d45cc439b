/** The GraphQL schema of the wire contract. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { packageRoot } from '../store/package-root.ts';

const folder = () => join(packageRoot(), 'shared/graphql');

/** The file that is written from the schemas of REST. */
export function answersFile(): string {
  return join(folder(), 'answers.graphql');
}

/** The whole schema in the schema definition language. */
export function schemaText(): string {
  const written = ['query.graphql', 'shots.graphql', 'answers-and-releases.graphql'].map((name) =>
    join(folder(), name),
  );
  return [...written, answersFile()].map((file) => readFileSync(file, 'utf8')).join('\n');
}
