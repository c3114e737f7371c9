// Answers a table of questions (standard input) with the texts of ECMA-402 (standard output), both as JSON.
import { readFileSync } from "node:fs";

const { locales, money, rates, numbers, quantities, units, minutes, days, instants } = JSON.parse(
  readFileSync(0, "utf8"),
);
const plain = { numberingSystem: "latn" };
const calendar = { ...plain, calendar: "gregory" };

const answers = (tag) => {
  const number = (options) => new Intl.NumberFormat(tag, { ...plain, ...options });
  const moment = (options) => new Intl.DateTimeFormat(tag, { ...calendar, ...options });
  const measured = (unit) => number({ style: "unit", unit, unitDisplay: "short", maximumFractionDigits: 3 });
  const list = new Intl.ListFormat(tag, { type: "unit", style: "short" });
  const duration = ([hours, rest]) => list.format([measured("hour").format(hours), measured("minute").format(rest)]);
  const exactly = (digits) => ({ minimumFractionDigits: digits, maximumFractionDigits: digits });
  const inCurrency = ([currency, digits, amounts], sign = {}) =>
    amounts.map((amount) => number({ style: "currency", currency, ...exactly(digits), ...sign }).format(amount));
  const change = { signDisplay: "exceptZero" };
  return {
    money: Object.fromEntries(money.map((row) => [row[0], inCurrency(row)])),
    change: Object.fromEntries(money.map((row) => [row[0], inCurrency(row, change)])),
    percent: rates.map((rate) => number({ style: "percent", maximumFractionDigits: 3 }).format(rate)),
    number: numbers.map((value) => number({ maximumFractionDigits: 3 }).format(value)),
    quantity: Object.fromEntries(units.map((unit) => [unit, quantities.map((value) => measured(unit).format(value))])),
    minutes: minutes.map(duration),
    medium: days.map((day) => moment({ dateStyle: "medium", timeZone: "UTC" }).format(new Date(day))),
    long: days.map((day) => moment({ dateStyle: "long", timeZone: "UTC" }).format(new Date(day))),
    moment: instants.map((instant) =>
      moment({ dateStyle: "medium", timeStyle: "short", timeZone: "Europe/Dublin" }).format(new Date(instant)),
    ),
  };
};

const { node, icu, cldr } = process.versions;
const texts = Object.fromEntries(locales.map((tag) => [tag, answers(tag)]));
process.stdout.write(JSON.stringify({ versions: { node, icu, cldr }, texts }));
