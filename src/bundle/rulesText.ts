/** The rule sets as rules.json holds them. */
export const rulesText = (rules: readonly unknown[]): string => `${JSON.stringify({ rules }, null, 2)}\n`;
