/** The command is refused (exit 1), and why was said in another form than a sentence for people. */
export class AlreadySaid extends Error {}
