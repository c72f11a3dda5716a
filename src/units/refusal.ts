/**
 * Something the user gave or has cannot be used. The message is one sentence that says what, where (file,
 * line, column) and what to do; the command prints it and exits with 1, having changed nothing.
 */
export class Refusal extends Error {
  override readonly name = 'Refusal';
}
