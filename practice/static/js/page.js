// What the scripts of a page share.

export const part = id => document.getElementById(id);

/** `9:40 AM`, with its day unless that is today. */
export function said(time) {
  const weekday = new Date(time).toDateString() === new Date().toDateString() ? undefined : "long";
  return new Date(time).toLocaleString("en", { weekday, hour: "numeric", minute: "2-digit" });
}
