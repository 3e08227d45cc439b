/** Is the process alive, and can it answer? For whoever keeps the server up. */
import type { FastifyInstance } from 'fastify';
import type { OpenDatabase } from '../../store/open-database.ts';
import { ping } from '../../store/ping.ts';

/** `/livez` answers while the process runs; `/readyz` asks the database. */
export async function healthRoutes(scope: FastifyInstance, options: { database: OpenDatabase }): Promise<void> {
  scope.get('/livez', async () => ({ status: 'alive' }));
  scope.get('/readyz', async () => {
    await ping(options.database.db);
    return { status: 'ready', database: options.database.kind };
  });
}
