/** One line of NDJSON. A line that is not JSON is a fault of that shot, not of the upload. */
import { fault } from '../../../shared/fault.ts';
import type { SentShot } from './sent-shot.ts';

export function parseLine(text: string): Pick<SentShot, 'value' | 'faults'> {
  try {
    return { value: JSON.parse(text) as unknown, faults: [] };
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    const remedy = `Write one complete JSON object on each line (${error.message}).`;
    return { value: null, faults: [fault('structure-invalid', '', text, 'one JSON object on the line', remedy)] };
  }
}
