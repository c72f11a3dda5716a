/** A check was made and printed, and something did not pass: the command exits with 3. */
export class CheckFailed extends Error {
  override readonly name = 'CheckFailed';
}
