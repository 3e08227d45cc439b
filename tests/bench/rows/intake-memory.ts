/** How much more memory a server takes while one long upload arrives. */
import { setTimeout as sleep } from 'node:timers/promises';
import type { MeasureRow } from '../bench.ts';
import { trackLines } from '../made/track-shots.ts';
import { digits, megabytes, type Row } from '../report.ts';
import { peakResidentBytes, residentBytes } from '../resident-memory.ts';
import { startService } from '../service/running-service.ts';
import { makeUploadingLab, type UploadingLab } from '../service/uploading-lab.ts';

const points = 400;
const budgetBytes = 200e6;
const linesPerChunk = 20;

export const measureIntakeMemory: MeasureRow = async ({ server, program, options, note }): Promise<Row> => {
  const database = await server.createDatabase();
  // A server that has just made its database is not an idle one: the measured one starts on it as it is.
  const first = await startService(await program(), database);
  let made: UploadingLab;
  try {
    made = await makeUploadingLab(first, 'uploads');
  } finally {
    await first.stop();
  }
  const service = await startService(await program(), database);
  try {
    const lab = made.at(service);
    await service.ask('GET', '/v1/labs');
    await sleep(500);
    const idle = residentBytes(service.pid);
    const lineBytes = [...trackLines(0, 50, points)].join('').length / 50;
    const shots = Math.ceil((options.uploadMegabytes * 1e6) / lineBytes);
    note(`uploading ${options.uploadMegabytes} MB, ${shots} shots, in one piece`);
    const started = performance.now();
    const peak = await peakResidentBytes(service.pid, () => lab.upload(chunks(shots), shots));
    const seconds = (performance.now() - started) / 1000;
    return {
      work: `memory during an upload of ${options.uploadMegabytes} MB, ${points}-point tracks`,
      floor: 'the idle server',
      figure: `${megabytes(peak - idle)} more`,
      floorFigure: megabytes(idle),
      ratio: null,
      budget: `< ${megabytes(budgetBytes)} more`,
      within: peak - idle < budgetBytes,
      parts: [
        `${shots} shots in ${digits(seconds)} s, ${digits(shots / seconds)} shots/s with the making of the lines`,
      ],
    };
  } finally {
    await service.stop();
  }
};

function* chunks(shots: number): Generator<Uint8Array> {
  let lines = '';
  let held = 0;
  for (const line of trackLines(0, shots, points)) {
    lines += line;
    held += 1;
    if (held < linesPerChunk) continue;
    yield Buffer.from(lines);
    lines = '';
    held = 0;
  }
  if (held > 0) yield Buffer.from(lines);
}
