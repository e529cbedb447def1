from django.apps import AppConfig
from django.db.models.signals import pre_migrate


class ReviewConfig(AppConfig):
    name = "review"
    verbose_name = "Rushlight"

    def ready(self):
        from review import tasks  # gives the jobs their courier
        from review.management import whole_steps

        tasks.carry_jobs()
        pre_migrate.connect(whole_steps.make_whole, sender=self)
