"""What a whole plan says, as one page (HTML) and as paper (PDF).

`gather` asks for everything that is told and puts it in words (`model`); `html` and `pdf` set it.
Nothing here knows a calculator by name: all comes from schemas, findings, views and tables.
"""
