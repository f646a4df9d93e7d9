"""stockopt: what to carry, what to replace before leaving, what to order, where and by when.

The rooms, in the order in which the data flows. A room imports only rooms that stand before it:

1. errors, units, settings: the floor
2. fleet: tables -> Fleet
3. lives: Fleet -> Lives
4. ageing: Lives -> Ageing
5. demand: Ageing, Fleet -> Demand
6. sourcing: Fleet -> Offers
7. landed: Demand, Fleet -> Landed
8. choices: Demand, Offers -> Choices
9. program: Choices -> Solution
10. plan: Solution, Choices -> Plan
11. why: Plan, Choices -> Why
12. orders: Plan, Demand -> Orders
13. rehearsal: Fleet, Ageing, Plan -> Rehearsal
14. lookback: Plan of then, what happened -> Lookback
15. report: Plan -> files
16. books: Fleet, what happened -> tables
17. pipeline: the whole line on one screen
18. cli: the commands
"""

__version__ = "0.1.0"
