"""When does a stock run out, when must it be ordered, and does it fall as planned?

Pure arithmetic: frozen values in, frozen values out, no database, no clock, no chance. The same
sisters give the same answers in any order and beside any other stock.

* :mod:`types` the case (what is known) and the projection (what follows)
* :mod:`engine` the door for cases, :func:`engine.project`; :mod:`many` the door for arrays,
  :func:`many.reckon`, which the other one uses
* :mod:`days`, :mod:`readings`, :mod:`pack`, :mod:`stocks` a case becomes a column of arrays
* :mod:`prior`, :mod:`sisters`, :mod:`drift` what is held before a stock's own weighings
* :mod:`filter` content and factors from weighings; :mod:`runout`, :mod:`delivery` what follows
* :mod:`change`, :mod:`hypotheses`, :mod:`bank` what may have gone wrong, by its share and name
* :mod:`answers`, :mod:`settle` what somebody found out about it
* :mod:`follow`, :mod:`findings`, :mod:`because` one stock again, for a person, as keys and values
* :mod:`pooled` one item in several places; :mod:`otherwise` the same plan ahead, changed
* :mod:`read`, :mod:`kept` a case out of a file, and kept beside its projection
* :mod:`plan_only`, :mod:`score` what it is held against
* :mod:`amounts` how many packs to order, and why; :mod:`counting_rule` what to measure this week
* :mod:`whole_days`, :mod:`reorder`, :mod:`press`, :mod:`weighing` exact arithmetic for pages and
  services
* :mod:`intermittent`, :mod:`rates` pieces asked for now and then
* :mod:`watch`, :mod:`variance_rule`, :mod:`cusum` plain rules that say something is wrong

Inside, amounts are doubles in the unit of the case (mL, g or pieces) and times are days; outside
they are whole base units. An estimate never goes back into the ledger.

Decisions
---------
*A filter on content, not on its logarithm.* Use adds up over tanks, skips and unticked days, so the
state stays linear and every answer is a closed form. The price is a use factor that may be below
zero with a probability of 0.04 % before the first weighing.
*Plan times factor, never the past rate.* A start-up that ramps, a tank emptied next week and a
holiday are in the plan ahead; yesterday's rate knows none of them.
*Three ways to drift.* A factor that hardly moves (0.81), one that wanders (0.09) and one that goes
one way for long, as a pump clogs (0.10), mixed by how well each explained the weighings; sisters
shift the weights for each other. Of the third, the change per day is one more state of the filter,
so the run-out follows it and its range says how little is known of it.
*What is left out, learned from sisters.* Where they leave out alike, the share of doses that will
not be given rests on all their records; where they differ, on a stock's own.
*Columns, not objects.* Stocks with the same number of plan lines are columns of one filter, and so
are the hypotheses about them: 2,000 stocks take less time than a plain simulation of them. The
price is a second, scalar reckoning in the tests to read the arrays against.
*A name has a size.* What may have happened is one more state of the filter, so its amount comes
with a range and stays tied to content and factor.
*Every number of the prior is an assumption* of this program until finished containers replace it.
"""
