/** Lines of NDJSON as rows for COPY in PostgreSQL's binary form: label, content without the track, the positions. */

const signature = Buffer.from('PGCOPY\n\xff\r\n\0', 'latin1');

/** Parses every line. The columns are text, jsonb and bytea. */
export function binaryRows(lines: readonly string[]): Buffer {
  const parts: Buffer[] = [signature, Buffer.alloc(8)];
  for (const line of lines) {
    const { cueTrack, ...content } = JSON.parse(line) as {
      label: string;
      cueTrack: { positions: number[] };
    };
    const positions = Float64Array.from(cueTrack.positions);
    parts.push(
      int16(3),
      ...field(Buffer.from(content.label)),
      // The first byte of a jsonb value is its format, 1.
      ...field(Buffer.from(`\u0001${JSON.stringify(content)}`)),
      ...field(Buffer.from(positions.buffer)),
    );
  }
  parts.push(int16(-1));
  return Buffer.concat(parts);
}

function field(bytes: Buffer): [Buffer, Buffer] {
  const length = Buffer.alloc(4);
  length.writeInt32BE(bytes.byteLength);
  return [length, bytes];
}

function int16(value: number): Buffer {
  const bytes = Buffer.alloc(2);
  bytes.writeInt16BE(value);
  return bytes;
}
