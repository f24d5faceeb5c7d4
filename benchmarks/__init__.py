"""How fast it is: ``make bench`` runs every ``bench_*`` module here."""
