/** `1 cup`, `10 cups`. */
export const cupsInWords = (cups: number): string => `${cups} ${cups === 1 ? 'cup' : 'cups'}`;
