// The words of the page in the language chosen, and numbers and dates as that language writes them.

let said = {};
let language = "en";

// Day before month and 24 hours, as on a weighbridge slip.
const HABITS = { en: "en-GB", de: "de-DE" };

const HERE = new URL(".", import.meta.url).pathname;
const TRANSLATED = ["de"];

export function languageNow() {
  return language;
}

// The language asked for, or English where there are no words in it.
export async function useLanguage(wanted) {
  const short = (wanted || "en").slice(0, 2).toLowerCase();
  const found = TRANSLATED.includes(short) ? short : "en";
  if (found !== "en") {
    const answer = await fetch(`${HERE}words-${found}.json`);
    said = (await answer.json()).words;
  } else {
    said = {};
  }
  language = found;
  document.documentElement.lang = found;
}

function filled(text, values) {
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}

// The text in the language chosen; {names} in it are filled from the values.
export function _(text, values = {}) {
  const found = said[text];
  return filled(typeof found === "string" ? found : text, values);
}

// English and German have the same two forms.
export function ngettext(one, many, n, values = {}) {
  const forms = said[one];
  const [single, several] = Array.isArray(forms) ? forms : [one, many];
  return filled(n === 1 ? single : several, { n: number(n), ...values });
}

export function number(value, digits = 0) {
  return new Intl.NumberFormat(HABITS[language], { maximumFractionDigits: digits }).format(value);
}

export function decimalSign() {
  return new Intl.NumberFormat(HABITS[language]).formatToParts(1.5).find((p) => p.type === "decimal").value;
}

// A time as records write it (2026-09-14T08:30:00), for people.
export function timeText(time) {
  const form = { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" };
  return new Intl.DateTimeFormat(HABITS[language], form).format(new Date(time));
}

// What somebody typed as a number: {value}, {empty: true} or {problem}.
// "9.500" may be 9.5 or 9500: it is asked, not guessed.
export function readNumber(text) {
  const bare = text.replace(/[\s\u00a0\u202f']/g, "");
  if (!bare) return { empty: true };
  if (!/^-?\d*([.,]\d+)?$/.test(bare) || bare === "-") {
    return { problem: _("This is not a number: {text}", { text }) };
  }
  if (/^-?[1-9]\d{0,2}[.,]\d{3}$/.test(bare)) {
    const [whole, part] = bare.split(/[.,]/);
    const values = { text, large: `${whole}${part}`, small: `${whole}${bare.includes(",") ? "," : "."}${part.replace(/0+$/, "") || "0"}` };
    return { problem: _("{text} may be two things. Write {large} or {small}.", values) };
  }
  return { value: Number(bare.replace(",", ".")) };
}
