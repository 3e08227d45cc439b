/** The methods text of the wire contract, as it goes into a bundle. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { packageRoot } from '../store/package-root.ts';

/** The Markdown of shared/methods.md, with LF line ends. */
export function methodsText(): string {
  return readFileSync(join(packageRoot(), 'shared/methods.md'), 'utf8').replaceAll('\r\n', '\n');
}
