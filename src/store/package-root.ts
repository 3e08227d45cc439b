/** Where the package lies: the source under tsx and vitest, one level further down after a build. */
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/**
 * Directory that holds this package's package.json and migrations/, found by walking up from this file.
 * @throws Error when no such directory is above this file
 */
export function packageRoot(): string {
  let directory = dirname(fileURLToPath(import.meta.url));
  for (;;) {
    const description = join(directory, 'package.json');
    if (existsSync(description)) {
      const { name } = JSON.parse(readFileSync(description, 'utf8')) as { name?: unknown };
      if (name === 'shot-commons') return directory;
    }
    const parent = dirname(directory);
    if (parent === directory) throw new Error(`package.json of shot-commons not found above ${import.meta.url}`);
    directory = parent;
  }
}
