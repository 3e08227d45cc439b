/** A pooled regression with a filter never asked before against the bare aggregate SQL, and random intercepts beside it. */
import { askRegression } from '../../../src/pooling/ask-regression.ts';
import { runRegression } from '../../../src/pooling/run-regression.ts';
import type { MeasureRow } from '../bench.ts';
import { openLiveHandle } from '../made/live-handle.ts';
import { poolLabs } from '../made/pool-database.ts';
import { aggregate, leastSpeed, question, reader, terms } from '../made/pooled-questions.ts';
import { medianTimes } from '../measure.ts';
import { milliseconds, type Row } from '../report.ts';

const budgetRatio = 0.2;
const interceptsRatio = 1.5;

export const measureRegression: MeasureRow = async ({ pool, note }): Promise<Row[]> => {
  const database = await (await pool()).open();
  const live = await openLiveHandle(database);
  try {
    const { columns } = await live.columns.view('shared', await live.versions.read(), false);
    const base = { specificationDigest: '', dataVersion: '', methodVersion: '1' };
    let counted = 0;
    let answered = 0;
    note(`asking regressions over ${columns.count} shots`);
    const ask = async (round: number, more: object = {}) =>
      (await askRegression(live.db, reader, question(round, more))).result.provenance.shots;
    const times = await medianTimes(
      {
        fixed: async (round) => {
          answered = await ask(round);
        },
        random: (round) => ask(round, { labs: 'randomIntercept' }),
        aggregate: async (round) => {
          counted = await aggregate(database.db, leastSpeed(round));
        },
        kernel: (round) => runRegression(columns, question(round), base),
      },
      { warmUp: 2, rounds: 15, seconds: 20, least: 3 },
    );
    if (answered !== counted) throw new Error(`the answer rests on ${answered} shots, the aggregate on ${counted}`);
    const ratio = times.fixed / times.aggregate;
    const interceptRatio = times.random / times.fixed;
    return [
      {
        work: `pooled regression, ${terms.length} terms, ${poolLabs} labs, ${columns.count} shots, new filter`,
        floor: 'bare aggregate SQL: moments by lab',
        figure: milliseconds(times.fixed),
        floorFigure: milliseconds(times.aggregate),
        ratio,
        budget: `<= ${budgetRatio} x`,
        within: ratio <= budgetRatio,
        why: 'the passes over the columns take this long.',
        parts: [`part: answer from columns in memory ${milliseconds(times.kernel)}; the rest is asking and storing`],
      },
      {
        work: `the same with random lab intercepts by REML, ${columns.count} shots`,
        floor: 'the fixed-effects answer',
        figure: milliseconds(times.random),
        floorFigure: milliseconds(times.fixed),
        ratio: interceptRatio,
        budget: `<= ${interceptsRatio} x`,
        within: interceptRatio <= interceptsRatio,
      },
    ];
  } finally {
    await live.close();
    await database.close();
  }
};
