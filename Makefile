# Shortcuts; dev.py does the work and needs no make.
.PHONY: demo test screenshots
demo test:
	python3 dev.py $@
screenshots:
	python3 dev.py check && .venv/bin/python docs/take_pictures.py
