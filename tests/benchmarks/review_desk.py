"""The review desk and a class's page over a term of 30 students:
`python -m tests.benchmarks.review_desk`.

A database of its own in a temporary folder; the pages are asked of the site itself, without a
network, and the best of `ROUNDS` stands beside a fixed numpy loop. Ends with 1 where a figure
misses its limit.
"""

import sys

from tests.benchmarks.page_times import page_time, signed_in, site_of_its_own, yardstick_ms

LONGEST_MS, MOST_QUERIES = 60.0, 12


def main() -> int:
    with site_of_its_own():
        return measure()


def measure() -> int:
    from tests.factories import make_person
    from tests.teaching_term import make_term

    instructor = make_person("oona", role="instructor")
    term = make_term(instructor)
    client = signed_in(instructor)
    print(f"{len(term.students)} students, {len(term.waiting)} pieces to review")
    beside, good = yardstick_ms(), True
    for address in ("/review/", f"/classes/{term.taught.pk}/progress/"):
        took = page_time(client, address)
        print(address)
        print(f"  queries            {took.queries:6d}      at most {MOST_QUERIES}")
        print(f"  processor time     {took.processor_ms:6.1f} ms   at most {LONGEST_MS:.0f}")
        print(f"  elapsed            {took.elapsed_ms:6.1f} ms")
        print(f"  a fixed numpy loop {beside:6.1f} ms   ratio {took.processor_ms / beside:.1f}")
        good &= took.keeps_to(LONGEST_MS, MOST_QUERIES)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
