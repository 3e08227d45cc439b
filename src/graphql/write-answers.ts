/** Writes shared/graphql/answers.graphql anew: `npm run graphql:answers`, after a schema of the wire contract changed. */
import { writeFileSync } from 'node:fs';
import { answersSdl } from './answers-sdl.ts';
import { answersFile } from './schema-text.ts';

writeFileSync(answersFile(), answersSdl().sdl);
