/**
 * The usual cautions, said at the step they belong to (docs/safety.md has them all). They go where messages go, not among
 * results.
 */
export const CAUTIONS = {
  visit:
    'Safety: label, local rules and licensed people come first. Gloves for strips; veil, and help at hand for stings. Carrier, crate and alcohol strapped down; lids checked, loose bees are out before anyone drives. No key and no look at the screen for the driver. No flame heater; engine not run for heat in a closed place (carbon monoxide). Nobody and no animal stays in a closed vehicle. 12 V only through a certified adapter with a fuse.',
  wash: 'Safety: wash outdoors. Alcohol can be lit at every temperature a valid cup has had, diluted too: far from smoker, flames, engines, chargers and electronics, never in a vehicle; gloves, eyes protected, lids on at once.',
} as const;
