"""`python -m expert` is the rackwalk command."""

from expert.cli.main import main

raise SystemExit(main())
