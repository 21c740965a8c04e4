import typer
app = typer.Typer()
@app.command()
def fonts() -> None: ...
