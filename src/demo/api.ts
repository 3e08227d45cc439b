/** A thin client of the public HTTP interface: every answer is checked against the schema of the contract. */
import { z } from 'zod';
import { derivedShotSchema } from '../../shared/derivation.ts';
import { type Problem, problemSchema } from '../../shared/problems.ts';

export type Answer<Body> =
  | { readonly ok: true; readonly status: number; readonly body: Body }
  | { readonly ok: false; readonly status: number; readonly problem: Problem };

/** A shot as listed; only what the demo reads. */
export const listedShotSchema = z.looseObject({
  id: z.string(),
  lab: z.string(),
  label: z.string(),
  rig: z.string(),
  derived: derivedShotSchema,
});
export type ListedShot = z.infer<typeof listedShotSchema>;

const shotPageSchema = z.looseObject({ shots: z.array(listedShotSchema), next: z.string().nullable() });

export interface Api {
  readonly address: string;
  /** Posts JSON, or `text` of another media type, and returns the answer or the refusal. */
  tryPost<Schema extends z.ZodType>(
    path: string,
    body: unknown,
    schema: Schema,
    mediaType?: string,
  ): Promise<Answer<z.output<Schema>>>;
  /** As `tryPost`, for what must succeed. */
  post<Schema extends z.ZodType>(path: string, body: unknown, schema: Schema): Promise<z.output<Schema>>;
  /** Gets JSON that must be there. */
  get<Schema extends z.ZodType>(path: string, schema: Schema): Promise<z.output<Schema>>;
  /** Gets a file that must be there. */
  download(path: string): Promise<Uint8Array>;
  /** Every shot that this token may see, page by page. */
  allShots(): Promise<ListedShot[]>;
}

async function readProblem(response: Response): Promise<Problem> {
  const text = await response.text();
  try {
    return problemSchema.parse(JSON.parse(text));
  } catch (cause) {
    throw new Error(`${response.url} answered ${response.status} without a problem document: ${text.slice(0, 200)}`, {
      cause,
    });
  }
}

function refused(path: string, problem: Problem): Error {
  const faults = (problem.errors ?? []).slice(0, 3).map((fault) => `${fault.pointer ?? fault.column}: ${fault.found}`);
  return new Error(`${path} was refused: ${problem.detail} ${problem.remedy} ${faults.join('; ')}`.trim());
}

/**
 * Client for one token.
 *
 * @param address such as http://127.0.0.1:8080, without a slash at the end
 */
export function apiOf(address: string, token: string): Api {
  const authorization = { authorization: `Bearer ${token}` };

  const tryPost: Api['tryPost'] = async (path, body, schema, mediaType = 'application/json') => {
    const response = await fetch(`${address}${path}`, {
      method: 'POST',
      headers: { ...authorization, 'content-type': mediaType },
      body: typeof body === 'string' ? body : JSON.stringify(body),
    });
    if (!response.ok) return { ok: false, status: response.status, problem: await readProblem(response) };
    return { ok: true, status: response.status, body: schema.parse(await response.json()) };
  };

  const fetchOrThrow = async (path: string): Promise<Response> => {
    const response = await fetch(`${address}${path}`, { headers: authorization });
    if (!response.ok) throw refused(path, await readProblem(response));
    return response;
  };

  const get: Api['get'] = async (path, schema) => schema.parse(await (await fetchOrThrow(path)).json());

  return {
    address,
    tryPost,
    post: async (path, body, schema) => {
      const answer = await tryPost(path, body, schema);
      if (!answer.ok) throw refused(path, answer.problem);
      return answer.body;
    },
    get,
    download: async (path) => new Uint8Array(await (await fetchOrThrow(path)).arrayBuffer()),
    allShots: async () => {
      const shots: ListedShot[] = [];
      let next: string | null = '';
      while (next !== null) {
        const after: string = next === '' ? '' : `&after=${encodeURIComponent(next)}`;
        const page: z.output<typeof shotPageSchema> = await get(`/v1/shots?limit=500${after}`, shotPageSchema);
        shots.push(...page.shots);
        next = page.next;
      }
      return shots;
    },
  };
}
