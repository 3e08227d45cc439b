/** The first question after a start: the columns are filled for it. */
import { askRegression } from '../../../src/pooling/ask-regression.ts';
import type { MeasureRow } from '../bench.ts';
import { type LiveHandle, openLiveHandle } from '../made/live-handle.ts';
import { bareCopy, question, reader } from '../made/pooled-questions.ts';
import { medianTimes } from '../measure.ts';
import { megabytes, milliseconds, type Row } from '../report.ts';

const budgetRatio = 1.5;

export const measureFirstQuestion: MeasureRow = async ({ pool, note, shots }): Promise<Row> => {
  const database = await (await pool()).open();
  let live: LiveHandle | null = null;
  try {
    note('filling the columns and answering, again and again');
    let bytes = 0;
    const times = await medianTimes(
      {
        first: (round) => askRegression((live as LiveHandle).db, reader, question(1000 + round)),
        copy: async () => {
          bytes = await bareCopy(database);
        },
      },
      { warmUp: 1, rounds: 5, seconds: 40, least: 2 },
      async () => {
        await live?.close();
        live = await openLiveHandle(database);
      },
    );
    const ratio = times.first / times.copy;
    return {
      work: `the first question after a start, ${shots} shots`,
      floor: `binary COPY of the same columns, received and dropped (${megabytes(bytes)})`,
      figure: milliseconds(times.first),
      floorFigure: milliseconds(times.copy),
      ratio,
      budget: `<= ${budgetRatio} x`,
      within: ratio <= budgetRatio,
      parts: [`columns in memory ${megabytes((live as LiveHandle | null)?.columns.bytes ?? 0)}`],
    };
  } finally {
    await (live as LiveHandle | null)?.close();
    await database.close();
  }
};
