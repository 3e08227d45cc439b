import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { about, grouped, signed } from '../../src/demo/report/numbers.ts';
import { table, width, wrapped } from '../../src/demo/report/plain-text.ts';

describe('the plain text of the report', () => {
  it('wraps at 100 columns and loses no word', () => {
    fc.assert(
      fc.property(fc.array(fc.stringMatching(/^[a-z]{1,20}$/), { maxLength: 80 }), (words) => {
        const lines = wrapped(words.join(' '), '  > ', '    ');
        for (const line of lines) expect(line.length).toBeLessThanOrEqual(width);
        expect(
          lines
            .join(' ')
            .replace('  > ', '')
            .split(/\s+/)
            .filter((word) => word !== ''),
        ).toEqual(words);
      }),
      { seed: 21, numRuns: 100 },
    );
  });

  it('keeps a word that is longer than a line whole', () => {
    expect(wrapped(`see ${'x'.repeat(120)} there`)).toEqual(['see', 'x'.repeat(120), 'there']);
  });

  it('sets numbers to the right and words to the left', () => {
    expect(
      table(
        ['lab', 'shots'],
        [
          ['ridge', '7'],
          ['x', '112'],
        ],
      ),
    ).toEqual(['  lab    shots', '  -----  -----', '  ridge      7', '  x        112']);
  });

  it('writes numbers with signs, groups and no more digits than they carry', () => {
    expect([signed(1.234, 1), signed(-0.5, 2), signed(0, 1)]).toEqual(['+1.2', '-0.50', '0.0']);
    expect([grouped(999), grouped(1234567)]).toEqual(['999', '1,234,567']);
    expect([about(56_789), about(99), about(1049)]).toEqual(['57,000', '99', '1,000']);
  });
});
