"""The rules by which marks go to the server, against a server that loses answers."""

# A server as review/marking/selecting.py describes it, and one select's wishes on their way to it.
_SERVER = """
  const rules = await load("outbox-rules.js");
  const content = (rating) => ({ in_frame: 0, out_frame: 10, tags: [], note: "", rating });
  const make = (stamp, rating, version, over = null) => {
    const [method, said] = rating === null ? ["DELETE", {}] : ["PUT", content(rating)];
    return rules.makeWish(stamp, 0, method, { ...said, version }, over);
  };
  const server = {
    select: null,
    writes: 0,
    take(wish) {
      const { version, ...said } = wish.body;
      const deleting = wish.method === "DELETE";
      if (!this.select) {
        if (deleting) return { deleted: true, version: 0 };
        this.writes += 1;
        return (this.select = { ...said, deleted: false, version: 1 });
      }
      if (rules.saying(this.select) === rules.saying(wish)) return this.select;
      if (version !== this.select.version) throw { status: 409, passing: false, body: { current: this.select } };
      this.writes += 1;
      return (this.select = { ...this.select, ...(deleting ? {} : said), deleted: deleting, version: version + 1 });
    },
  };
"""


def test_what_is_sent_over_a_network_that_loses_answers_arrives_and_nobody_is_asked(run):
    told = run(
        _SERVER
        + """
        let state = given;
        const chance = (below) => {
          state = (state * 1103515245 + 12345) % 2147483648;
          return Math.floor((state / 2147483648) * below);
        };
        const wrong = [];
        for (let round = 0; round < 400; round += 1) {
          server.select = null;
          let [line, shown, version, newest, made] = [[], null, 0, null, 0];
          const send = (fate) => {
            line = rules.lend(line);
            const [wish] = line;
            if (!wish || fate === "not reached") return;
            try {
              const answer = server.take(wish);
              if (fate === "answer lost") return;
              line = rules.settle(line, wish, answer.version);
              version = answer.version;
              if (shown?.stamp === wish.stamp) shown = null;
            } catch (problem) {
              const verdict = rules.verdict(problem, wish);
              if (verdict !== "ours") wrong.push([round, verdict]);
              line = rules.rebase(line, wish, problem.body.current.version);
            }
          };
          for (let step = 0; step < 12; step += 1) {
            if (chance(3)) send(["arrives", "answer lost", "not reached"][chance(3)]);
            else {
              newest = chance(5) && made ? chance(6) : made ? null : 3;
              const wish = make(`${round}:${(made += 1)}`, newest, version, shown?.stamp ?? null);
              line = rules.admit(line, wish, shown);
              shown = wish;
            }
          }
          for (let tries = 0; line.length && tries < 30; tries += 1) send("arrives");
          const there = server.select && !server.select.deleted ? server.select.rating : null;
          if (line.length || there !== newest) wrong.push([round, line, there, newest]);
        }
        return wrong;
        """,
        20261112,
    )
    assert told == []


def test_of_two_tabs_that_did_not_know_of_each_other_the_second_is_asked(run):
    answer = run(
        _SERVER
        + """
        server.take(make("first", 1, 0));
        let line = rules.admit([], make("one", 2, 1));
        line = rules.admit(line, make("two", 3, 1)); // made from what the server had, not over the other tab's
        line = rules.lend(line);
        line = rules.settle(line, line[0], server.take(line[0]).version);
        line = rules.lend(line);
        try {
          server.take(line[0]);
        } catch (problem) {
          return [rules.verdict(problem, line[0]), server.select.rating, line.length];
        }
        """
    )
    assert answer == ["conflict", 2, 1]


def test_a_wish_over_another_takes_its_place_and_one_that_came_meanwhile_stays(run):
    answer = run(
        _SERVER
        + """
        const stamps = (line) => line.map((wish) => [wish.stamp, wish.body.version]);
        const one = make("one", 1, 0);
        const sent = rules.lend(rules.admit([], one));
        const both = rules.admit(sent, make("two", 2, 0, "one"), sent[0]);
        return {
          twice: stamps(rules.admit(sent, one)),
          replaced: stamps(both),
          settled: stamps(rules.settle(both, sent[0], 1)),
          settledAlone: stamps(rules.settle(sent, sent[0], 1)),
          dropped: stamps(rules.drop(both, "one")),
        };
        """
    )
    assert answer == {
        "twice": [["one", 0]],
        "replaced": [["two", 0]],
        "settled": [["two", 1]],
        "settledAlone": [],
        "dropped": [["two", 0]],
    }


def test_what_a_refusal_means(run):
    answers = run(
        _SERVER
        + """
        const wish = { ...make("two", 2, 0), sent: [rules.saying(content(1))] };
        const tidied = { ...content(1), note: "", tags: [], version: 1, deleted: false };
        const problems = {
          away: { passing: true, status: 0 },
          refused: { passing: false, status: 400, body: { detail: "no" } },
          ours: { passing: false, status: 409, body: { current: tidied } },
          conflict: { passing: false, status: 409, body: { current: { ...tidied, rating: 5 } } },
        };
        return Object.entries(problems).map(([name, problem]) => [name, rules.verdict(problem, wish)]);
        """
    )
    assert len(answers) == 4
    for expected, answer in answers:
        assert answer == expected


def test_where_a_select_stands(run):
    answers = run(
        """
        const { standing } = await load("outbox-rules.js");
        const line = [{}];
        return [
          standing(undefined, {}), standing([], {}), standing(line, { keeping: true }), standing(line, {}),
          standing(line, { flying: true }), standing(line, { refused: {} }),
        ];
        """
    )
    assert answers == ["saved", "saved", "keeping", "kept", "sending", "refused"]
