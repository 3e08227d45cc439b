/** From the start of the process, on an embedded database with shots in it, to its first answer. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { MeasureRow } from '../bench.ts';
import { type BenchDatabase, embeddedDatabase } from '../bench-database.ts';
import { trackLines } from '../made/track-shots.ts';
import { median, medianTimes } from '../measure.ts';
import { milliseconds, type Row } from '../report.ts';
import { startService } from '../service/running-service.ts';
import type { ServiceProgram } from '../service/service-program.ts';
import { makeUploadingLab } from '../service/uploading-lab.ts';

const shots = 500;
const budgetMilliseconds = 3000;

export const measureStart: MeasureRow = async ({ program, note }): Promise<Row> => {
  const directory = mkdtempSync(join(tmpdir(), 'shot-commons-bench-start-'));
  try {
    const built = await program();
    const database = embeddedDatabase(directory);
    note(`filling an embedded database with ${shots} shots`);
    await fill(built, database);
    let stop = async () => {};
    const listened: number[] = [];
    const { start } = await medianTimes(
      {
        start: async () => {
          const before = performance.now();
          const service = await startService(built, database);
          listened.push(performance.now() - before);
          stop = service.stop;
          await service.ask('GET', '/v1/labs');
        },
      },
      { warmUp: 1, rounds: 5, seconds: 20, least: 3 },
      () => stop(),
    );
    await stop();
    const listening = median(listened.slice(1));
    return {
      work: `start on an existing embedded database (${shots} shots) to first answer, ${built.description}`,
      floor: null,
      figure: milliseconds(start),
      floorFigure: null,
      ratio: null,
      budget: `< ${milliseconds(budgetMilliseconds)}`,
      within: start < budgetMilliseconds,
      parts: [`of it, until the server listens ${milliseconds(listening)}`],
    };
  } finally {
    rmSync(directory, { recursive: true, force: true });
  }
};

async function fill(program: ServiceProgram, database: BenchDatabase): Promise<void> {
  const service = await startService(program, database);
  try {
    const lab = await makeUploadingLab(service, 'uploads');
    await lab.upload([Buffer.from([...trackLines(0, shots, 400)].join(''))], shots);
  } finally {
    await service.stop();
  }
}
