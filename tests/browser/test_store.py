"""Where marks are kept until the server has them."""

import pytest
from django.conf import settings as site


@pytest.mark.parametrize("refused", ["", "indexedDB", "indexedDB localStorage"])
def test_marks_are_kept_in_the_best_place_that_the_browser_allows(room, refused):
    kinds = {"": "database", "indexedDB": "local storage", "indexedDB localStorage": "memory"}
    room.expected.append("refused here$")  # said by whatever else on the page would keep something
    context = room.context()
    for name in refused.split():
        refusing = "{ get() { throw new DOMException('refused here', 'SecurityError'); } }"
        context.add_init_script(f"Object.defineProperty(window, '{name}', {refusing});")
    page = context.new_page()
    page.goto("/sign-in/")
    answer = page.evaluate(
        """async (static) => {
          const { Store } = await import(`${static}review/js/store.js`);
          const { admit, makeWish } = await import(`${static}review/js/outbox-rules.js`);
          const store = await Store.open();
          for (const [at, [clip, id]] of [["7", "a"], ["7", "b"], ["70", "c"]].entries()) {
            const wish = makeWish(`stamp ${at}`, 10 - at, "PUT", { version: 0 });
            await store.admit("logger", clip, id, wish, (line) => admit(line, wish));
          }
          await store.change("logger", "70", "c", () => []);
          const other = makeWish("d", 0, "PUT", { version: 0 });
          await store.admit("editor", "7", "d", other, (line) => admit(line, other));
          const ids = async (kept) => (await kept.all("logger", 7)).map(([id]) => id);
          return [store.kind, await ids(store), await store.clips("logger"), await ids(await Store.open())];
        }""",
        site.STATIC_URL,
    )
    # oldest first; what is in memory alone is not there for the next one
    assert answer == [kinds[refused], ["b", "a"], ["7"], [] if "localStorage" in refused else ["b", "a"]]


def test_what_an_older_page_left_moves_into_the_database(run):
    answer = run(
        """
        const left = { method: "PUT", body: { clip: 7, version: 2, rating: 1 } };
        localStorage.setItem("rushlight-outbox:logger:7:some-id", JSON.stringify(left));
        localStorage.setItem("rushlight-outbox:logger:7:broken", "{");
        const { Store } = await load("store.js");
        const [one, two] = await Promise.all([Store.open(), Store.open()]); // two tabs at once
        const [[id, line]] = await two.all("logger", 7);
        return [id, line.length, line[0].method, line[0].body, Object.keys(localStorage)];
        """
    )
    assert answer == [
        "some-id",
        1,
        "PUT",
        {"clip": 7, "version": 2, "rating": 1},
        ["rushlight-outbox:logger:7:broken"],  # what cannot be read is left alone
    ]


def test_two_at_once_never_write_over_each_other(run):
    answer = run(
        """
        const { Store } = await load("store.js");
        const stores = await Promise.all([Store.open(), Store.open()]);
        const adding = [];
        for (let at = 0; at < 40; at += 1) {
          adding.push(stores[at % 2].change("logger", "7", "a", (line) => [...line, { at }]));
        }
        await Promise.all(adding);
        return (await stores[0].all("logger", 7))[0][1].map(({ at }) => at);
        """
    )
    assert sorted(answer) == list(range(40))


def test_when_the_database_fails_what_it_held_goes_on_in_the_next_best_place(run):
    answer = run(
        """
        const { Store } = await load("store.js");
        const store = await Store.open();
        await store.change("logger", "7", "a", () => [{ at: 1 }]);
        let weaker = 0;
        store.addEventListener("weaker", () => (weaker += 1));
        IDBObjectStore.prototype.put = function () {
          this.transaction.abort(); // as a full disk does
        };
        await Promise.all(["b", "c"].map((id) => store.change("logger", "7", id, () => [{ at: 2 }])));
        return [store.kind, weaker, (await store.all("logger", 7)).map(([id]) => id)];
        """
    )
    assert answer == ["local storage", 1, ["a", "b", "c"]]
