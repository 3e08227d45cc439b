/** The question of the regression row side by side in R, as context: there is no budget for it. */
import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { askRegression } from '../../../src/pooling/ask-regression.ts';
import type { MeasureRow } from '../bench.ts';
import { openLiveHandle } from '../made/live-handle.ts';
import { question, reader } from '../made/pooled-questions.ts';
import { milliseconds, type Row } from '../report.ts';

const script = fileURLToPath(new URL('../pooled-in-r.R', import.meta.url));

export const measureInR: MeasureRow = async ({ pool, note }): Promise<Row[]> => {
  const made = await pool();
  if (made.url === null) return [];
  const { hostname, port, username, password, pathname, searchParams } = new URL(made.url);
  const host = searchParams.get('host') ?? decodeURIComponent(hostname);
  note('asking the same in R');
  let told: string;
  try {
    const { stdout } = await promisify(execFile)(
      'Rscript',
      ['--vanilla', script, host, port === '' ? '5432' : port, decodeURIComponent(username), pathname.slice(1)],
      { env: { ...process.env, PGPASSWORD: decodeURIComponent(password) } },
    );
    told = stdout;
  } catch (error) {
    note(
      `R did not answer: ${error instanceof Error ? (error.message.split('\n')[1] ?? error.message) : String(error)}`,
    );
    return [];
  }
  const [rows = 0, fetching = 0, fixed = 0, random = 0, fixedSlope = 0, randomSlope = 0] = told
    .trim()
    .split(' ')
    .map(Number);
  const database = await made.open();
  const live = await openLiveHandle(database);
  try {
    const slopes: number[] = [];
    const ask = async (more: object) => {
      const before = performance.now();
      const { result } = await askRegression(live.db, reader, question(0, { confidence: 0.93, ...more }));
      slopes.push(result.coefficients.find(({ term }) => term === 'cueSpeed')?.estimate ?? Number.NaN);
      return performance.now() - before;
    };
    await ask({ confidence: 0.9 });
    slopes.length = 0;
    const [ours, oursRandom] = [await ask({}), await ask({ labs: 'randomIntercept' })];
    const same = (a: number, b: number) => Math.abs(a - b) <= 1e-6 * Math.abs(b);
    const agreement =
      same(slopes[0] as number, fixedSlope) && same(slopes[1] as number, randomSlope)
        ? 'slopes of cue speed agree within 1e-6'
        : `SLOPES DIFFER: ${slopes.join(', ')} here, ${fixedSlope}, ${randomSlope} in R`;
    const row = (work: string, own: number, inR: number): Row => ({
      work: `${work}, ${rows} shots (context)`,
      floor: 'R on the rows in its memory',
      figure: milliseconds(own),
      floorFigure: milliseconds(1000 * inR),
      ratio: own / (1000 * inR),
      budget: 'none',
      within: true,
      parts: [`R fetches the rows in ${milliseconds(1000 * fetching)}; ${agreement}`],
    });
    return [row('fixed effects beside lm', ours, fixed), row('random intercepts beside lmer', oursRandom, random)];
  } finally {
    await live.close();
    await database.close();
  }
};
