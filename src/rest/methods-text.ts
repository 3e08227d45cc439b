/** The methods text of the wire contract, read once from the package. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { packageRoot } from '../store/package-root.ts';

let text: string | undefined;

/** The Markdown of shared/methods.md. */
export function readMethods(): string {
  text ??= readFileSync(join(packageRoot(), 'shared', 'methods.md'), 'utf8');
  return text;
}
