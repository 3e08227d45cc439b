/** The same question as a link again, on unchanged data, against a bare route that sends the same bytes. */

import { writeFileSync } from 'node:fs';
import { Agent, get } from 'node:http';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { MeasureRow } from '../bench.ts';
import { medianTimes } from '../measure.ts';
import { milliseconds, type Row } from '../report.ts';
import { startChild } from '../service/child-program.ts';
import { startService } from '../service/running-service.ts';

const budgetRatio = 2;
const link = '/v1/regression?response=contactTime&terms=cueSpeed,cueAcceleration,tipOffset';

export const measureSameGet: MeasureRow = async ({ pool, program, note }): Promise<Row> => {
  const database = await pool();
  const service = await startService(await program(), database);
  try {
    const { token } = (await service.ask('POST', '/v1/tokens', { role: 'reader', note: 'bench' })) as { token: string };
    note('asking the same link again and again');
    const answer = await fetch(`${service.address}${link}`, { headers: { authorization: `Bearer ${token}` } });
    const bytes = await answer.text();
    if (!answer.ok) throw new Error(`the link answered ${answer.status}: ${bytes.slice(0, 500)}`);
    const file = join(database.directory, '..', 'same-answer.json');
    writeFileSync(file, bytes);
    const program = fileURLToPath(new URL('../service/bare-route.ts', import.meta.url));
    const bare = await startChild([...process.execArgv, program, file], {});
    const agent = new Agent({ keepAlive: true, maxSockets: 1 });
    try {
      const headers = { authorization: `Bearer ${token}` };
      const lengths = new Set<number>();
      const times = await medianTimes(
        {
          service: async () => lengths.add(await receive(agent, `${service.address}${link}`, headers)),
          bare: async () => lengths.add(await receive(agent, bare.address, headers)),
        },
        { warmUp: 300, rounds: 2000, seconds: 8, least: 50 },
      );
      if (lengths.size !== 1) throw new Error(`the two send different numbers of bytes: ${[...lengths].join(', ')}`);
      const ratio = times.service / times.bare;
      return {
        work: `the same GET again, unchanged data, ${[...lengths][0]} bytes`,
        floor: 'bare Fastify route, same bytes',
        figure: milliseconds(times.service),
        floorFigure: milliseconds(times.bare),
        ratio,
        budget: `<= ${budgetRatio} x`,
        within: ratio <= budgetRatio,
        why: 'hooks, headers and the lookups in memory take this long beside a route without any.',
      };
    } finally {
      agent.destroy();
      await bare.stop();
    }
  } finally {
    await service.stop();
  }
};

/** Bytes of the body of one GET over a connection that is kept. */
function receive(agent: Agent, address: string, headers: Record<string, string>): Promise<number> {
  return new Promise((resolve, reject) => {
    get(address, { agent, headers }, (response) => {
      let length = 0;
      response.on('data', (chunk: Buffer) => {
        length += chunk.byteLength;
      });
      response.once('error', reject);
      response.once('end', () => {
        if (response.statusCode === 200) resolve(length);
        else reject(new Error(`${address} answered ${response.statusCode}`));
      });
    }).once('error', reject);
  });
}
