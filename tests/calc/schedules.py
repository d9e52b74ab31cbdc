"""Published scheduling examples, typed out apart from the code that is checked against them."""

# Johnson's rule for two machines (S. M. Johnson, "Optimal two- and three-stage production schedules with setup times
# included", Naval Research Logistics Quarterly 1, 1954): (jobs as (first machine, second machine), a published best
# sequence, its makespan, and how long the second machine is idle until its last job ends). The data are those of
# worked examples in open course material; makespans were found again by trying every sequence.
JOHNSON = {
    "cleaning and painting, as in operations management textbooks": (
        {"A": (5, 5), "B": (4, 3), "C": (8, 9), "D": (2, 7), "E": (6, 8), "F": (12, 15)},
        "DECFAB",
        51,
        4,
    ),
    "five jobs, one best sequence": (
        {"A": (5, 2), "B": (3, 6), "C": (8, 4), "D": (10, 7), "E": (7, 12)},
        "BEDCA",
        35,
        4,
    ),
    "seven books to print and bind": (
        {"1": (20, 25), "2": (90, 60), "3": (80, 75), "4": (20, 30), "5": (120, 90), "6": (15, 35), "7": (65, 50)},
        "6415327",
        460,
        95,
    ),
    "five jobs, the first one of 12 h from memory": (
        {"1": (12, 22), "2": (4, 5), "3": (5, 3), "4": (15, 16), "5": (10, 8)},
        "21453",
        65,
        11,
    ),
}
# Answers found in print that are wrong: (jobs, the makespan printed there, the shortest there is).
JOHNSON_MISPRINTS = (
    ({"L": (10, 2), "M": (5, 4), "N": (7, 5), "O": (3, 6), "P": (1, 7)}, 26, 28),
    ({"A": (3, 8), "B": (12, 10), "C": (5, 9), "D": (2, 6), "E": (9, 3), "F": (11, 1)}, 39, 43),
)

# E. Taillard, "Benchmarks for basic scheduling problems", European Journal of Operational Research 64, 1993: 20 jobs on
# 5 machines, the first instance: its seed, the shortest makespan (proven), and the block of numbers that the published
# generator prints so that a copy can be checked.
TA001_SEED, TA001_SHORTEST = 873654221, 1278
TA001_FIRST_MACHINE = (54, 83, 15, 71, 77, 36, 53, 38, 27, 87, 76, 91, 14, 29, 12, 77, 32, 87, 68, 94)
TA001_FIRST_JOB, TA001_LAST_JOB = (54, 79, 16, 66, 58), (94, 77, 40, 31, 28)


def taillard(seed, *, jobs=20, machines=5):
    """Processing times by machine and job, by the generator that the paper prints; from 1 to 99."""
    times = []
    for _ in range(machines):
        row = []
        for _ in range(jobs):
            seed = 16807 * (seed % 127773) - 2836 * (seed // 127773)
            seed += 2147483647 if seed < 0 else 0
            row.append(1 + seed * 99 // 2147483647)
        times.append(row)
    return times


# Moore and Hodgson: minutes and due times, by job. The first is the worked example of M. Pinedo, "Scheduling: Theory,
# Algorithms, and Systems", at the algorithm for the fewest late jobs (chapter 3): two are late, 2 and then 1 dropped.
PINEDO = {1: (7, 9), 2: (8, 17), 3: (4, 18), 4: (6, 19), 5: (6, 21)}
PINEDO_LATE = {1, 2}
# Ten jobs from open course material: eight can be on time.
TEN_JOBS = dict(
    enumerate(
        zip(
            (19, 23, 5, 31, 17, 8, 32, 41, 26, 18), (48, 75, 170, 215, 205, 240, 85, 67, 100, 95), strict=True
        ),
        1,
    )
)  # fmt: skip
TEN_JOBS_ON_TIME = 8

# J. R. Jackson, "Scheduling a production line to minimize maximum tardiness", Management Science Research Project 43,
# University of California, 1955: by due time the greatest lateness is the least. Minutes and due times of open course
# material, a sequence given there and its greatest lateness, and the least.
JACKSON = {1: (3, 6), 2: (2, 8), 3: (1, 9), 4: (4, 9), 5: (3, 10), 6: (2, 11)}
JACKSON_GIVEN, JACKSON_GIVEN_LATENESS, JACKSON_LEAST_LATENESS = (3, 2, 5, 4, 1, 6), 7, 4
PINEDO_LEAST_LATENESS, PINEDO_LATE_BY_DUE_TIME = 10, 3
