/** Uploads of 400-point tracks by one client, against JSON.parse of the lines and one COPY of the rows. */
import type { MeasureRow } from '../bench.ts';
import { binaryRows } from '../copy/binary-rows.ts';
import { openCopyTarget } from '../copy/copy-target.ts';
import { trackLines } from '../made/track-shots.ts';
import { medianTimes } from '../measure.ts';
import { digits, type Row } from '../report.ts';
import { startService } from '../service/running-service.ts';
import { makeUploadingLab } from '../service/uploading-lab.ts';

const points = 400;
const shots = 1000;
const budgetRatio = 1 / 4;

export const measureIntake: MeasureRow = async ({ server, program, note }): Promise<Row> => {
  const target = await openCopyTarget(await server.createDatabase());
  const service = await startService(await program(), await server.createDatabase());
  try {
    const lab = await makeUploadingLab(service, 'uploads');
    note(`uploading ${shots} tracks of ${points} points a round`);
    // Every round sends shots never sent before, made outside the clock.
    let lines: string[] = [];
    let body = Buffer.alloc(0);
    const prepare = (round: number) => {
      lines = [...trackLines(round * shots, shots, points)];
      body = Buffer.from(lines.join(''));
    };
    const median = await medianTimes(
      {
        upload: () => lab.upload([body], shots),
        copy: () => target.copy(binaryRows(lines)),
      },
      { warmUp: 1, rounds: 7, seconds: 25, least: 3 },
      prepare,
    );
    const rate = (1000 * shots) / median.upload;
    const floorRate = (1000 * shots) / median.copy;
    const ratio = rate / floorRate;
    return {
      work: `intake, ${points}-point tracks, NDJSON over HTTP, one client, ${shots} shots an upload`,
      floor: 'JSON.parse of the lines, then COPY of the rows',
      figure: `${digits(rate)} shots/s`,
      floorFigure: `${digits(floorRate)} shots/s`,
      ratio,
      budget: `>= ${budgetRatio} x`,
      within: ratio >= budgetRatio,
      why: 'a shot costs two threads about half a millisecond, two thirds of it for the derivation, before it is stored; the text of the derivation with its whole budget is three times as long as the shot.',
      parts: [
        `one line ${digits(body.byteLength / shots)} bytes; upload ${digits(body.byteLength / 1e3 / median.upload)} MB/s`,
      ],
    };
  } finally {
    await service.stop();
    await target.close();
  }
};
