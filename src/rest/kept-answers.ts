/**
 * Answers to questions asked before, as the bytes that were sent. An answer is kept under its id, which names question,
 * scope and data version: it never becomes old. Which id a question has now is told by the versions kept in memory.
 */
import type { FastifyReply, FastifyRequest } from 'fastify';
import { permit } from '../access/permissions.ts';
import { requireScope, type Scope } from '../access/visibility.ts';
import { analysisId } from '../pooling/canonical.ts';
import { dataVersionOf } from '../pooling/data-version.ts';
import type { VersionBook } from '../pooling/version-book.ts';
import { validatorOf } from './conditional.ts';
import { cacheControl } from './routes/common.ts';

export interface KeptAnswer {
  readonly body: Buffer;
  readonly etag: string;
}

/** A question as far as the id of its answer depends on it. */
export interface KeptQuestion {
  readonly scope: Scope;
  readonly specificationDigest: string;
  /** Digest of the release that it is asked of; null for live shots. */
  readonly release: string | null;
}

export type AnswerForm = 'json' | 'csv';

/** Bytes of answers kept, and addresses of questions. */
const mostBytes = 64_000_000;
const mostQuestions = 10_000;

export class KeptAnswers {
  readonly #versions: VersionBook;
  readonly #questions = new Map<string, KeptQuestion>();
  readonly #answers = new Map<string, KeptAnswer>();
  #bytes = 0;

  constructor(versions: VersionBook) {
    this.#versions = versions;
  }

  /** Remembers which question an address asks; that never changes. */
  keepQuestion(address: string, question: KeptQuestion): void {
    if (this.#questions.size >= mostQuestions) this.#questions.clear();
    this.#questions.set(address, question);
  }

  keep(id: string, form: AnswerForm, text: string): KeptAnswer {
    const body = Buffer.from(text);
    const answer = { body, etag: validatorOf(body) };
    const key = `${id} ${form}`;
    if (this.#answers.has(key) || body.byteLength > mostBytes / 4) return answer;
    this.#answers.set(key, answer);
    this.#bytes += body.byteLength;
    for (const [oldest, { body: old }] of this.#answers) {
      if (this.#bytes <= mostBytes) break;
      this.#answers.delete(oldest);
      this.#bytes -= old.byteLength;
    }
    return answer;
  }

  /** What was answered under an id; the longest unused are forgotten first. Gives no permission. */
  answer(id: string, form: AnswerForm): KeptAnswer | null {
    const key = `${id} ${form}`;
    const answer = this.#answers.get(key);
    if (answer === undefined) return null;
    this.#answers.delete(key);
    this.#answers.set(key, answer);
    return answer;
  }

  /** The id that the answer to a question has now; null when only the database can tell. */
  idNow({ scope, specificationDigest, release }: KeptQuestion): string | null {
    if (release !== null) return analysisId({ specificationDigest, scope, dataVersion: release });
    const versions = this.#versions.current();
    if (versions === null) return null;
    return analysisId({ specificationDigest, scope, dataVersion: dataVersionOf(versions, scope).digest });
  }

  /**
   * Answers a link from memory when it was asked before and nothing has changed since.
   * @returns false when it has to be computed or looked up
   * @throws Refusal as the question itself would
   */
  sendAgain(request: FastifyRequest, reply: FastifyReply, form: AnswerForm): boolean {
    const question = this.#questions.get(request.url);
    if (question === undefined) return false;
    permit(request.principal, 'readShared');
    requireScope(request.principal, question.scope);
    const id = this.idNow(question);
    const answer = id === null ? null : this.answer(id, form);
    if (answer === null) return false;
    void sendAnswer(request, reply.header('content-location', `/v1/analyses/${id}`), question.scope, form, answer);
    return true;
  }
}

/** Sends an answer; one to a GET with its validator. */
export function sendAnswer(
  request: FastifyRequest,
  reply: FastifyReply,
  scope: string,
  form: AnswerForm,
  { body, etag }: KeptAnswer,
): FastifyReply {
  const typed = reply
    .header('vary', 'accept')
    .type(form === 'json' ? 'application/json; charset=utf-8' : 'text/csv; charset=utf-8; header=present');
  if (request.method !== 'GET') return typed.send(body);
  return typed.header('cache-control', cacheControl(scope, request.principal)).header('etag', etag).send(body);
}
