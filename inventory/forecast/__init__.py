"""When does a stock run out, when must it be ordered, and does it fall as planned?

Pure arithmetic: frozen values in, frozen values out, no database, no clock, no chance. The same
sisters give the same answers in any order and beside any other stock.

* :mod:`types` the case (what is known) and the projection (what follows)
* :mod:`engine` the one door, :func:`engine.project`
* :mod:`days`, :mod:`prior`, :mod:`sisters`, :mod:`posterior`, :mod:`runout`, :mod:`delivery` the
  steps behind it
* :mod:`whole_days`, :mod:`reorder`, :mod:`press`, :mod:`weighing` exact arithmetic for pages and
  services
* :mod:`bank`, :mod:`change` what may have gone wrong, by its share and name
* :mod:`intermittent`, :mod:`rates` pieces asked for now and then
* :mod:`watch` plain rules that say something is wrong
* :mod:`because` the reasons, as keys and values that a page puts into words

Inside, amounts are doubles in the unit of the case (mL, g or pieces) and times are days; outside
they are whole base units. An estimate never goes back into the ledger.

Decisions
---------
*A filter on content, not on its logarithm.* Use adds up over tanks, skips and unticked days, so the
state stays linear and every answer is a closed form. The price is a use factor that may be below
zero with a probability of 0.04 % before the first weighing.
*Plan times factor, never the past rate.* A start-up that ramps, a tank emptied next week and a
holiday are in the plan ahead; yesterday's rate knows none of them.
*Two speeds of drift.* A factor that hardly moves (weight 0.85) and one that wanders (0.15), mixed
by how well each explained the weighings.
*Every number of the prior is an assumption* of this program until finished containers replace it.
"""
