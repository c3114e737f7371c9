/**
 * The calculations: where each is asked, what goes in and what comes out. The one place to change when names change.
 *
 * `optional` may stay blank. Results that are not named here are shown under their own names.
 */

export const CALCULATIONS = [
  {
    title: "Loaded hourly rate",
    about: "What an hour must be charged at once wage, on-costs, overheads and idle hours are in it.",
    path: "/v1/calculations/hourly-rate",
    fields: [
      { name: "yearly_wage", label: "Wages a year" },
      { name: "on_costs", label: "On-costs, as a share of the wage", hint: "0.25" },
      { name: "yearly_overheads", label: "Overheads a year" },
      { name: "paid_hours", label: "Paid hours a year", hint: "2080" },
      { name: "holiday_hours", label: "of which holidays" },
      { name: "sick_hours", label: "of which sick" },
      { name: "not_chargeable", label: "Share of the hours at work that nobody pays for", hint: "0.3" },
      { name: "margin", label: "Wanted margin, or blank", optional: true },
      { name: "profit", label: "or wanted profit an hour, or blank", optional: true },
    ],
    results: { rate: "Hourly rate", loaded_cost: "Cost of an hour", chargeable_hours: "Chargeable hours", utilisation: "Utilisation" },
  },
  {
    title: "Price for a margin",
    about: "Which price before tax leaves the wanted share of itself.",
    path: "/v1/calculations/price-for-margin",
    fields: [
      { name: "cost", label: "Cost" },
      { name: "margin", label: "Wanted margin, as a share of the price", hint: "0.4" },
    ],
    results: { price: "Price before tax", profit: "Profit", markup: "Same as a markup of", margin: "Margin" },
  },
  {
    title: "Break-even jobs a month",
    about: "How many jobs carry the fixed costs.",
    path: "/v1/calculations/break-even",
    fields: [
      { name: "fixed_costs", label: "Fixed costs a month" },
      { name: "average_net", label: "Average price of a job before tax" },
      { name: "average_variable_cost", label: "Average cost of a job: parts, consumables" },
    ],
    results: { jobs: "Jobs a month", contribution: "Contribution of a job", revenue: "Revenue at that point" },
  },
];

export const CURRENCY_FIELD = "currency";
