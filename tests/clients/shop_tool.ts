// A shop tool in TypeScript: everything it sends and reads is checked against the types of the OpenAPI document.
import type { components, paths } from "./fillwright";

declare const process: { argv: string[] };

type Asked = paths["/v1/fill"]["post"];
type Question = Asked["requestBody"]["content"]["application/json"];
type Answer = Asked["responses"]["200"]["content"]["application/json"];
type Problem = components["schemas"]["Problem"];

async function fill(server: string, question: Question): Promise<Answer | Problem> {
  const response = await fetch(`${server}/v1/fill`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(question),
  });
  return response.json();
}

// What goes out comes back in: a question as it is echoed, a jug and a box of the shop as they are listed.
export const echoed = (answer: components["schemas"]["FullFillAnswer"]): Question => answer.question;
export const atHand = (jugs: components["schemas"]["ShelfJug"][]): Question => ({ on_hand: jugs });
export const listed = (box: components["schemas"]["Box"]): Question => box;
export const judged = (jug: components["schemas"]["ShelfJug"], box: components["schemas"]["Box"]): JugQuestion => ({
  ...jug,
  question: box,
});

type JugQuestion = components["schemas"]["JugQuestion"];
type Result = components["schemas"]["BatchResult"];

async function inLines(server: string, questions: components["schemas"]["BatchQuestion"][]): Promise<Result[]> {
  const response = await fetch(`${server}/v1/fill/batch`, {
    method: "POST",
    headers: { "Content-Type": "application/x-ndjson" },
    body: questions.map((question) => `${JSON.stringify(question)}\n`).join(""),
  });
  return (await response.text()).trim().split("\n").map((line): Result => JSON.parse(line));
}

function isProblem(told: Answer | Problem): told is Problem {
  return "title" in told;
}

function leader(answer: Answer): string {
  const verdict: "fits" | "fits-with-care" | "does-not-fit" | "depends" | undefined = answer.leader?.verdict;
  // Only the answer in full has every class.
  const count = "candidates" in answer ? answer.candidates.length : answer.others.length;
  return `${answer.leader?.lubricant.id} ${verdict} ${count}`;
}

export const nothingKnown: Question = {};
export const noRings: Question = { rings: [] };
// @ts-expect-error: a mistyped field is refused before it is sent.
export const mistyped: Question = { rings: [{ facin: "paper" }] };
// @ts-expect-error: so is a final drive that there is not.
export const worm: Question = { final_drive: "worm" };
// @ts-expect-error: and a number in quotes.
export const quoted: Question = { coldest_start_c: "-20" };

// A patch holds each field whole, so that to spread it over the question does what RFC 7396 says.
function replied(question: Question, answer: Answer): Question | undefined {
  const [asked] = answer.ask_next;
  const reply = asked?.answers[question.unanswerable?.length ? 0 : asked.answers.length - 1];
  return reply && { ...question, ...reply.patch };
}

async function dialogue(server: string, question: Question): Promise<string> {
  const said: string[] = [];
  for (let next: Question | undefined = question; next; ) {
    const told = await fill(server, next);
    if (isProblem(told)) return `refused: ${told.detail}`;
    said.push(told.ask_next[0]?.pointer ?? told.outcome);
    next = replied(next, told);
  }
  return said.join(" ");
}

async function main(server: string): Promise<void> {
  const box: Question = { rings: [{ facing: "paper", body: "steel" }], coldest_start_c: -15, duty: "street" };
  for (const question of [box, nothingKnown, { ...box, duty: "stret" }]) {
    const told = await fill(server, question);
    console.log(isProblem(told) ? `${told.status} ${told.errors[0]?.did_you_mean}` : leader(told));
  }
  const results = await inLines(server, [{ ...box, key: "bench" }, { duty: "stret", key: "lift" }]);
  console.log(results.map((result) => `${result.key} ${result.status}`).join(", "));
  const rings: Question["rings"] = [{ gears: "1-2", cones: 2 }, { condition: "worn" }];
  for (const question of [nothingKnown, { rings, service_data: { note: "page 3 is torn" } }]) {
    console.log(await dialogue(server, question));
  }
}

main(process.argv[2] ?? "");
