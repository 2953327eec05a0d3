// What follows from a tap on the form of a horse: practice/rules/horse_work.py, said again; a test holds them equal.
//
// A state is what the fields of the form hold, by their names: `work` and `foot` are lists, all else is text. So
// quantities stay exact. Of each service `services` says how many feet it nails (`nailed`), its new shoes by foot
// (`shoes`), whether it `resets` the cycle, and the `price` proposed for it.

export const FEET = ["LF", "RF", "LH", "RH"];
export const PAIRS = { front: FEET.slice(0, 2), hind: FEET.slice(2) };
const NAILS_A_SHOE = 6; // common practice, no source

export const isZero = text => !/[1-9]/.test(text);

/** Add a whole number to a quantity, never below 0. */
export function add(text, by) {
  const [, whole, part] = /^(\d*)(.*)$/.exec(text);
  return Number(whole) + by < 0 ? "0" : Number(whole) + by + part;
}

/** The services of a state, each once; a line's key is its service's, with a number from the second on. */
const serviceOf = line => line.split("-")[0];
export const chosen = ({ work }) => [...new Set(work.map(serviceOf))];

const newShoe = (services, foot) => services.map(({ shoes }) => shoes[foot]).find(Boolean) ?? "";

/** Choose the feet that the services nail, their usual shoes, and six nails a shoe. */
function usuallyShod(state, services, nail) {
  const most = Math.max(0, ...services.map(({ nailed }) => nailed));
  const foot = most > 2 ? FEET : most === 2 ? PAIRS.front : [];
  const shoes = FEET.map(each => [`shoe_${each}`, foot.includes(each) ? newShoe(services, each) : ""]);
  const nails = most && nail ? NAILS_A_SHOE * (foot.length || most) : 0;
  return { ...state, foot, ...Object.fromEntries(shoes), nail: most ? nail : "", nails: `${nails}` };
}

/** Tap a service on or off. `nail` is the usual one, blank: none is known. */
export function tapService(state, key, services, nail) {
  const { resets, nailed, price } = services[key];
  const isOn = chosen(state).includes(key);
  const isGone = line => serviceOf(line) === key || (!isOn && resets && services[serviceOf(line)].resets);
  const gone = state.work.filter(isGone);
  const work = state.work.filter(line => !isGone(line));
  const of = each => chosen(each).map(one => services[one]);
  if (isOn) return nailed ? usuallyShod({ ...state, work }, of({ work }), nail) : { ...state, work };
  const note = gone.map(line => state[`note_${line}`]).filter(Boolean).join(" ");
  const line = { [`quantity_${key}`]: "1", [`price_${key}`]: price, [`note_${key}`]: note };
  const next = { ...state, ...line, work: [...work, key] };
  const isBeside = !resets && state.foot.length;
  const isNailed = nailed || of({ work: gone }).some(each => each.nailed);
  return isBeside || !isNailed ? next : usuallyShod(next, of(next), nail);
}

/** Tap a foot on or off. */
export function tapFoot(state, foot, services = {}) {
  const { foot: on, nail, nails } = state;
  const shoe = `shoe_${foot}`;
  if (on.includes(foot)) {
    const [all, feet] = [parseInt(nails) || 0, on.length];
    const own = Math.floor(all / feet) + (on.indexOf(foot) < all % feet ? 1 : 0);
    return { ...state, foot: on.filter(each => each !== foot), [shoe]: "", nails: add(nails, -own) };
  }
  const more = nail && (on.length || isZero(nails)) ? NAILS_A_SHOE : 0;
  const known = chosen(state).flatMap(each => services[each] ?? []);
  return {
    ...state,
    foot: FEET.filter(each => each === foot || on.includes(each)),
    [shoe]: state[shoe] || newShoe(known, foot),
    nails: add(nails, more),
  };
}

/** Put a shoe on those of these feet that get one, on all where none does. Blank: the old one again. */
export function chooseShoe(state, among, shoe) {
  const on = among.filter(foot => state.foot.includes(foot));
  const next = on.length ? state : among.reduce((each, foot) => tapFoot(each, foot), state);
  return { ...next, ...Object.fromEntries((on.length ? on : among).map(foot => [`shoe_${foot}`, shoe])) };
}

export const chooseNail = (state, nail) => ({
  ...state,
  nail,
  nails: isZero(state.nails) ? `${NAILS_A_SHOE * state.foot.length}` : state.nails,
});
