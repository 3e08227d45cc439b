/** A bare Fastify route that answers with the bytes of a file: the floor of an answer served again. */
import { readFileSync } from 'node:fs';
import Fastify from 'fastify';

const path = process.argv[2];
if (path === undefined) throw new Error('The file to serve is missing.');
const text = readFileSync(path, 'utf8');
const app = Fastify();
app.get('/', (_request, reply) => reply.type('application/json; charset=utf-8').send(text));
const address = await app.listen({ host: '127.0.0.1', port: 0 });
process.stdout.write(`Server listening at ${address}\n`);
