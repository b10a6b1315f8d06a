"""`python -m expert` is the rackwalk command."""

from expert.cli.frame.main import main

raise SystemExit(main())
